"""The same piece for another level: an easier level is never measured harder.

All arrangements of a song are in its own key, with the melody as it is written, and are measured
as the easier of two hands finds them.
"""

from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import pytest

from apoyando.arranging import arrange_song, finger_tune_alone
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role
from apoyando.model.plan import Melody, Plan
from apoyando.pipeline import make_ruler
from apoyando.proofing import find_over_level, prove_arrangement
from apoyando.reading import load_default_levels, read_song
from apoyando.teaching import measure_difficulty

EXAMPLES = sorted(
    path
    for path in (Path(__file__).parents[1] / "examples").iterdir()
    if path.suffix in {".abc", ".musicxml"}
)
LEVELS = load_default_levels()

Pieces = Mapping[str, Arrangement]


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def pieces(request: pytest.FixtureRequest) -> Pieces:
    """An example at every level, easiest first."""
    song = read_song(request.param.read_bytes(), request.param.name)
    made: dict[str, Arrangement] = {}
    for name, level in LEVELS.items():
        plan = Plan(level=name, key=str(song.key.tonic), melody=Melody.AS_WRITTEN)
        made[name] = arrange_song(song, plan, level, make_ruler(plan, LEVELS))
        assert prove_arrangement(made[name], song, level, 1.0).is_proven
    return made


def points(arrangement: Arrangement, level: str) -> list[float]:
    """Bar by bar, for the hand of a level."""
    return [bar.total for bar in measure_difficulty(arrangement, LEVELS[level])]


def test_an_easier_level_is_never_measured_harder(pieces: Pieces) -> None:
    for easier, harder in pairwise(pieces):
        assert sum(points(pieces[easier], easier)) <= sum(points(pieces[harder], easier)) + 0.01


def test_no_bar_asks_more_than_its_level_has(pieces: Pieces) -> None:
    for level, piece in pieces.items():
        assert max(points(piece, level)) <= LEVELS[level].most_points
        assert all(relaxation.step is not RelaxationStep.OVER_LEVEL for relaxation in piece.relaxations)


def test_the_tune_is_the_same_at_every_level(pieces: Pieces) -> None:
    """Up to its octave, which each level's fingerboard may ask for."""
    tunes = [[(note.span, note.pitch.name) for note in piece.voice(Role.MELODY)] for piece in pieces.values()]
    assert all(tune == tunes[0] for tune in tunes)


@pytest.mark.parametrize("level", ["intermediate", "advanced"])
def test_no_example_passes_a_limit_that_its_tune_alone_would_keep(pieces: Pieces, level: str) -> None:
    tune = finger_tune_alone(pieces[level], LEVELS[level])
    assert [
        each.sentence for each in find_over_level(pieces[level], LEVELS[level], tune) if not each.is_of_tune
    ] == []
