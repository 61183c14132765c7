"""Never stuck: whatever song it is, at whatever level, a finished and certified piece comes of it.

Asked again from the outside: ``references.page_checker`` reads the MusicXML alone, with the outermost
spans of the level, and knows the melody of the song and the changes that are listed.
"""

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key
from apoyando.engraving import notate, write_musicxml
from apoyando.model.arrangement import Arrangement
from apoyando.model.plan import ENDINGS, TEXTURES, Plan
from apoyando.model.song import Song
from apoyando.pipeline import make_ruler
from apoyando.proofing import prove_arrangement
from apoyando.proofing.form import lay_out_song
from apoyando.reading import load_default_levels
from builders import make_song
from references.page_checker import check_page
from strategies import extreme_songs

LEVELS = load_default_levels()


def moments_changed(arrangement: Arrangement, song: Song) -> set[Fraction]:
    onsets = {note.onset for note in (*song.melody, *arrangement.notes)}
    return {onset for onset in onsets for change in arrangement.melody_changes if change.covers(onset)}


def assert_finished(song: Song, plan: Plan) -> None:
    level = LEVELS[plan.level]
    arrangement = arrange_in_key(song, plan, level, song.key, ruler=make_ruler(plan, LEVELS))
    certificate = prove_arrangement(arrangement, song, level, plan.hand_size)
    assert certificate.is_proven, [witness.sentence for witness in certificate.witnesses]
    laid_out = lay_out_song(arrangement, song)
    complaints = check_page(
        write_musicxml(notate(arrangement)),
        melody=[(note.onset, note.duration, note.pitch.midi) for note in laid_out.melody],
        changed=moments_changed(arrangement, laid_out),
        limits_mm={(int(low), int(high)): limit.outermost_mm for (low, high), limit in level.spans.items()},
    )
    assert complaints == []


@settings(max_examples=12)
@given(
    song=extreme_songs(most_bars=2),
    level=st.sampled_from(tuple(LEVELS)),
    texture=st.sampled_from(("", "", *TEXTURES)),
    ending=st.sampled_from(ENDINGS),
    tuning=st.sampled_from(("standard", "drop-d")),
    capo=st.sampled_from((0, 0, 5)),
)
def test_a_song_at_the_edge_is_a_certified_piece(
    song: Song, level: str, texture: str, ending: str, tuning: str, capo: int
) -> None:
    assert_finished(song, Plan(level=level, texture=texture, ending=ending, tuning=tuning, capo=capo))


def test_a_low_tune_in_drop_d_lies_above_the_level_where_only_the_sixth_string_has_it() -> None:
    """G sharp lies six frets up on the sixth string and below the fifth: over the five frets of level early."""
    song = make_song("G#2:2 E3:2 G#2:4", "E:8")
    assert_finished(song, Plan(level="early", tuning="drop-d", melody_octave=0))
