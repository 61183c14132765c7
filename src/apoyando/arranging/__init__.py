"""Which notes: the melody in its key and octave, the texture, bass and inner voice."""

from apoyando.arranging.arrange import KeyComparison, arrange_in_key, arrange_song, compare_keys
from apoyando.arranging.keys import key_named

__all__ = ["KeyComparison", "arrange_in_key", "arrange_song", "compare_keys", "key_named"]
