"""The lesson sheet of a piece, block by block."""

from collections.abc import Iterable, Iterator
from itertools import islice, pairwise

from apoyando.model.form import play_order
from apoyando.model.hand_shape import HandShape, hand_shape_at
from apoyando.model.lesson import Block, Cutting, ShapePicture, Style, Words
from apoyando.model.song import Bar
from apoyando.model.time import Quarters
from apoyando.teaching.difficulty import BarDifficulty, HardBar
from apoyando.teaching.lesson.ahead import tell_barres_ahead, tell_shifts, tell_turns
from apoyando.teaching.lesson.asks import ASKS
from apoyando.teaching.lesson.care import CAUTION, tell_strain
from apoyando.teaching.lesson.facts import BarRule, Facts, PieceRule, Studied, gather_facts
from apoyando.teaching.lesson.holding import tell_let_go, tell_rings_on, tell_stays
from apoyando.teaching.lesson.leading import (
    tell_broken_dissonances,
    tell_dissonances,
    tell_inner_steps,
    tell_led_changes,
    tell_rung_dissonances,
)
from apoyando.teaching.lesson.passes import PASSES
from apoyando.teaching.points import Cause
from apoyando.teaching.wording import name_bars

MOST_SHAPES = 2
FEWEST_FINGERS = 2
"""One finger is no shape worth a diagram."""
MOST_OF_A_RULE = 3
"""So many sentences of one kind are told of one bar; two pages hold no more (estimate)."""
AHEAD: tuple[BarRule, ...] = (tell_shifts, tell_barres_ahead)
STAYING: tuple[BarRule, ...] = (tell_stays,)
RINGING: tuple[BarRule, ...] = (tell_rings_on,)
LETTING_GO: tuple[BarRule, ...] = (tell_let_go,)
LEADING: tuple[BarRule, ...] = (
    tell_dissonances,
    tell_rung_dissonances,
    tell_broken_dissonances,
    tell_inner_steps,
)
OF_A_BAR = (AHEAD, STAYING, RINGING, LETTING_GO, LEADING)
"""The sentences on a bar to practise that share an item, item by item."""
MOST_ELSEWHERE = 6
"""So many places beyond the bars to practise are told: the hardest of them, in order of time."""


def write_lesson(studied: Studied) -> tuple[Block, ...]:
    """The sheet of a piece that has bars and notes; the same piece gives the same sheet."""
    facts = gather_facts(studied)
    title = " ".join(studied.arrangement.title.split())
    return (
        Words(Style.TITLE, title or "Without a title"),
        *_part("What the piece asks for", Style.ITEM, _merge(facts, ASKS)),
        *_part("Practise in this order", Style.STEP, _merge(facts, PASSES)),
        *(block for hard in facts.bars_to_practise for block in _present_bar(facts, hard)),
        *_part("Where else to look ahead", Style.ITEM, _look_elsewhere(facts)),
        *_part("Voices", Style.ITEM, _hear_elsewhere(facts)),
        *_part("With care", Style.PARAGRAPH, [" ".join([CAUTION, *tell_strain(facts)])]),
    )


def _part(heading: str, style: Style, texts: Iterable[str]) -> Iterator[Block]:
    """Nothing at all where there is nothing to tell."""
    listed = list(texts)
    if listed:
        yield Words(Style.HEADING, heading)
        yield from (Words(style, text) for text in listed)


def _merge(facts: Facts, groups: Iterable[Iterable[PieceRule]]) -> Iterator[str]:
    """The sentences of each group on one line; groups with none are left out."""
    for rules in groups:
        sentences = [sentence for tell in rules for sentence in tell(facts)]
        if sentences:
            yield " ".join(sentences)


def _merge_bar(facts: Facts, bar: Bar, rules: Iterable[BarRule]) -> str:
    return " ".join(sentence for tell in rules for sentence in islice(tell(facts, bar), MOST_OF_A_RULE))


def _present_bar(facts: Facts, hard: HardBar) -> Iterator[Block]:
    bar = facts.bars[hard.index]
    yield Words(Style.HEADING, f"Bar {bar.number}")
    yield Cutting(_lead_in(facts, bar), bar.index)
    yield from (ShapePicture(moment) for moment in _choose_shapes(facts, bar))
    told = (_merge_bar(facts, bar, rules) for rules in OF_A_BAR)
    yield from (Words(Style.ITEM, text) for text in (_capital(hard), *told) if text)


def _lead_in(facts: Facts, bar: Bar) -> int:
    """The bar before, if it is played before this one; a second ending, for one, has none beside it."""
    before = bar.index - 1
    return before if (before, bar.index) in set(pairwise(play_order(facts.bars))) else bar.index


def _capital(hard: HardBar) -> str:
    """The sentence on what is hard, without the bar's name, which stands above it."""
    why = hard.sentence.removeprefix(f"Bar {hard.bar}: ")
    return f"{why[0].upper()}{why[1:]}"


def _choose_shapes(facts: Facts, bar: Bar) -> list[Quarters]:
    """Where most fingers are down, the first time for each shape; in order of time."""
    shapes: dict[HandShape, Quarters] = {}
    for stroke in facts.strokes:
        if bar.span.contains(stroke.onset):
            shapes.setdefault(_pressed(hand_shape_at(facts.arrangement, stroke.onset)), stroke.onset)
    whole = [
        shape for shape in shapes if len(shape.fingers) >= FEWEST_FINGERS and not _is_part(shape, shapes)
    ]
    fullest = sorted(whole, key=lambda shape: (-len(shape.fingers), shapes[shape]))[:MOST_SHAPES]
    return sorted(shapes[shape] for shape in fullest)


def _pressed(shape: HandShape) -> HandShape:
    """Without the open strings: they make no other shape of the hand."""
    return HandShape(tuple(stop for stop in shape.stops if not stop.place.is_open))


def _is_part(shape: HandShape, shapes: Iterable[HandShape]) -> bool:
    """Whether some other shape has all of it and more."""
    return any(set(shape.stops) < set(other.stops) for other in shapes)


def _look_elsewhere(facts: Facts) -> Iterator[str]:
    """Shifts and barres in bars that are not shown, the hardest of them, alike ones once."""
    weights = {each.index: _weight(each) for each in facts.studied.difficulties if _is_news(facts, each)}
    chosen = sorted(weights, key=lambda index: (-weights[index], index))[:MOST_ELSEWHERE]
    yield from _tell_alike_once([facts.bars[index] for index in sorted(chosen)], facts, AHEAD)
    yield from tell_turns(facts)


def _tell_alike_once(bars: Iterable[Bar], facts: Facts, rules: Iterable[BarRule]) -> list[str]:
    """What is told of each bar, after its number; bars of which the same is told share one line."""
    numbers_of: dict[str, list[str]] = {}
    for bar in bars:
        numbers_of.setdefault(_merge_bar(facts, bar, rules), []).append(bar.number)
    return [f"{_name_bars(numbers)} {text}" for text, numbers in numbers_of.items() if text]


def _name_bars(numbers: list[str]) -> str:
    named = name_bars(numbers)
    return f"{named[0].upper()}{named[1:]}."


def _weight(difficulty: BarDifficulty) -> float:
    return difficulty.parts[Cause.SHIFT] + difficulty.parts[Cause.BARRE]


def _is_news(facts: Facts, difficulty: BarDifficulty) -> bool:
    """Whether there is a shift or a barre in a bar that is neither shown nor like one before."""
    is_shown = difficulty.index in _shown(facts)
    return not is_shown and difficulty.first_alike == difficulty.index and _weight(difficulty) > 0


def _shown(facts: Facts) -> set[int]:
    return {index for hard in facts.bars_to_practise for index in (hard.index - 1, hard.index)}


def _hear_elsewhere(facts: Facts) -> Iterator[str]:
    yield from tell_led_changes(facts)
    practised = {hard.index for hard in facts.bars_to_practise}
    others = (bar for bar in facts.bars if bar.index not in practised)
    yield from _tell_alike_once(others, facts, (tell_dissonances,))[:MOST_ELSEWHERE]
