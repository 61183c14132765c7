"""What counts how much when chords are told from notes: every weight of the analysis, with its reason.

Conventions: evidence is counted in quarters of one ordinary tone: 1 is what the texture
of the piece sounds in a quarter, its accents and figures reckoned in. Costs are in the
same coin. The numbers are ours: estimates first, then tuned one by one on the odd ones of the twenty
chorales that ``bench/harmony_bench.py`` names and on the lead sheets written out for piano,
and rounded; the even chorales and the madrigals were kept for measuring.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

KINDS = (
    "major",
    "minor",
    "dominant",
    "minor-seventh",
    "major-seventh",
    "diminished",
    "half-diminished",
    "diminished-seventh",
    "augmented",
    "suspended-fourth",
    "major-sixth",
    "minor-sixth",
)
"""The chords that are looked for: those of a harmony book's figures and of a plain lead sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """See each."""

    # How much a tone counts.
    downbeat: float = 1.1
    """Harmony is told on the strong beats (common practice)."""
    half_bar: float = 1.0
    beat: float = 1.0
    off_beat: float = 0.95
    struck: float = 0.25
    """For each stroke, however short: a staccato bass tells the harmony too; in quarters."""
    tune: float = 0.35
    """A tune leans and passes more than what is put under it."""
    passing: float = 0.45
    """A short tone reached and left by step is most often no tone of the chord."""
    accented_passing: float = 0.75
    """... on a beat it may be one."""
    suspended: float = 0.7
    """A tone held or struck over from a weaker beat that then falls by step."""
    anticipated: float = 0.4
    """A short weak tone that is struck again at once belongs to what follows."""
    leaning: float = 0.9
    """A tone with a step on one side and a leap on the other: leaning or escaping."""
    # How well a chord explains what sounds.
    foreign: float = 1.4
    """Each tone that is not in the chord, against 1 for each that is."""
    bass_root: float = 0.45
    """The bass is the likeliest root, then the likeliest third."""
    bass_third: float = 0.2
    bass_fifth: float = -0.15
    bass_seventh: float = 0.1
    bass_foreign: float = -0.3
    bass_reach: float = 1.5
    """No bass counts for longer than so many quarters: a pedal point is no proof."""
    missing_root: float = 0.8
    missing_third: float = 0.35
    missing_fifth: float = 0.1
    missing_other: float = 0.9
    """A seventh, sixth or fourth that hardly sounds is not there."""
    presence: float = 0.08
    """A tone with this share of all that sounds is present in full."""
    # What is usual.
    kind: Mapping[str, float] = field(
        default_factory=lambda: MappingProxyType(
            {
                "major": 0.0,
                "minor": 0.0,
                "dominant": 0.0,
                "minor-seventh": 0.35,
                "major-seventh": 0.6,
                "diminished": 0.0,
                "half-diminished": 0.4,
                "diminished-seventh": 0.4,
                "augmented": 0.9,
                "suspended-fourth": 0.9,
                "major-sixth": 1.0,
                "minor-sixth": 1.2,
            }
        )
    )
    """A chord of more or stranger tones explains more by chance, and has to earn it."""
    outside_key: float = 0.15
    """For each tone of the chord that is not in the key of the moment."""
    change: Mapping[int, float] = field(
        default_factory=lambda: MappingProxyType({3: 0.25, 2: 0.35, 1: 0.45, 0: 0.7})
    )
    """A change of harmony, by the strength of its moment (3 the downbeat, 0 between beats)."""
    motion: tuple[float, ...] = (0.35, 0.2, 0.05, 0.1, 0.1, -0.15, 0.3, 0.0, 0.15, 0.05, 0.15, 0.15)
    """By the semitones that the root rises: a fourth up (a fifth down) is the commonest, the tritone the rarest."""
    unresolved: float = 0.2
    """A dominant seventh or diminished chord that does not go where it leads."""
    # Keys.
    key_change: float = 2.5
    """A change of key from one bar to the next."""
    key_window: float = 1.5
    """Bars on each side that tell the key of a bar; farther ones count less and less."""
    key_signature: float = 0.25
    """The keys of the signature are likelier than the rest."""


WEIGHTS = Weights()
