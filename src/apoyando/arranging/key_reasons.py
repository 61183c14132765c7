"""Why one setup costs more than another, in words: what differs on the page, dearest first.

What a difference weighs is what the stated prices ask for it, as far as it can be counted on
the finished page; it puts the words in order and is not shown.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from apoyando.arranging.key_choice import KeyComparison, Seen
from apoyando.arranging.keys import MELODY_LOW, MOST_FLATS, MOST_SHARPS, register_price
from apoyando.arranging.setups import Setup
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role
from apoyando.model.instrument import Place, fret_distance_mm
from apoyando.model.pitch import Key
from apoyando.model.position import Shift, list_shifts
from apoyando.model.prices import Prices

MOST_REASONS = 3
_HIGH_FRET = 4
"""Frets above it are priced as high (``high_fret_per_fret``)."""
_SINGING_STRINGS = 2
_MM = 100
_SMALL_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True)
class _Difference:
    """How much dearer one setup is in one thing, and what is to be said of it."""

    price: float
    words: str


def explain_prices(compared: Sequence[KeyComparison[Seen]], prices: Prices) -> tuple[tuple[str, ...], ...]:
    """For each setup up to three reasons for its place, ``compared`` being the cheapest first.

    Each is held against the cheapest, and what makes it dearer is told; the cheapest is held
    against the next, and what makes it cheaper is told. One setup alone has no reasons.
    """
    if len(compared) < 2:  # noqa: PLR2004 - nothing to compare with
        return ((),) * len(compared)
    best, second, *_ = compared
    return (
        _explain(best, second, prices, sign=-1),
        *(_explain(each, best, prices, sign=1) for each in compared[1:]),
    )


def _explain(
    one: KeyComparison[Seen], other: KeyComparison[Seen], prices: Prices, *, sign: int
) -> tuple[str, ...]:
    """What makes the one dearer (``sign`` 1) or cheaper (-1) than the other."""
    found = (
        *_setup_differences(one.setup, other.setup, len(one.arrangement.bars), prices),
        *_melody_differences(one.arrangement, other.arrangement, prices),
        *_counted_differences(one.arrangement, other.arrangement, other.setup, prices),
    )
    telling = [each for each in found if sign * each.price > 0]
    heaviest = sorted(telling, key=lambda each: -abs(each.price))
    return tuple(each.words for each in heaviest[:MOST_REASONS])


# The setup itself.


def _setup_differences(one: Setup, other: Setup, bars: int, prices: Prices) -> Iterator[_Difference]:
    signs = _reading_price(one.key, prices) - _reading_price(other.key, prices)
    yield _Difference(signs * bars, _signature_words(one.key))
    retuning = prices.string_retuned + prices.retuned_string_per_bar * bars
    if one.is_retuned != other.is_retuned:
        words = "string 6 is tuned down to D" if one.is_retuned else "no string is retuned"
        yield _Difference(retuning if one.is_retuned else -retuning, words)
    if one.capo != other.capo:
        price = _capo_price(one, prices) - _capo_price(other, prices)
        yield _Difference(price, f"the capo is at fret {one.capo}" if one.capo else "no capo is needed")


def _reading_price(key: Key, prices: Prices) -> int:
    beyond = max(key.fifths - MOST_SHARPS, -MOST_FLATS - key.fifths, 0)
    return abs(key.fifths) * prices.signature_per_sign + beyond * prices.signature_beyond_per_sign


def _signature_words(key: Key) -> str:
    if not key.fifths:
        return "no sharps or flats in the signature"
    kind = "sharp" if key.fifths > 0 else "flat"
    return f"signature of {_number(abs(key.fifths))} {kind}{'s' if abs(key.fifths) > 1 else ''}"


def _capo_price(setup: Setup, prices: Prices) -> int:
    return prices.capo_set + setup.capo * prices.capo_per_fret if setup.capo else 0


# The tune.


def _melody_differences(one: Arrangement, other: Arrangement, prices: Prices) -> Iterator[_Difference]:
    here, there = _register(one, prices), _register(other, prices)
    pitches = sorted((note.pitch for note in one.voice(Role.MELODY)), key=lambda pitch: pitch.midi)
    is_low = bool(pitches) and pitches[0].midi < MELODY_LOW
    dearer = (
        f"the tune goes {f'down to {pitches[0]}' if is_low else f'up to {pitches[-1]}'}" if pitches else ""
    )
    yield _Difference(here - there, dearer if here > there else "the tune lies where it sings")


def _register(arrangement: Arrangement, prices: Prices) -> int:
    """What the height of the tune costs."""
    notes = arrangement.voice(Role.MELODY)
    return sum(register_price(note.pitch.midi, note.duration, prices) for note in notes)


# What can be counted on the page.


@dataclass(frozen=True, slots=True)
class _Count:
    """A thing that pages have more or fewer of. ``price`` is what one costs: less than nothing for a good one."""

    singular: str
    plural: str
    count: Callable[[Arrangement], int]
    price: Callable[[Arrangement, Prices], float]

    def difference(
        self, one: Arrangement, other: Arrangement, than: str, prices: Prices
    ) -> _Difference | None:
        here, there = self.count(one), self.count(other)
        if here == there:
            return None
        dearer = here * self.price(one, prices) - there * self.price(other, prices)
        if (dearer > 0) != ((here > there) == (self.price(one, prices) > 0)):
            return None
        return _Difference(dearer, self._words(here, there, than))

    def _words(self, here: int, there: int, than: str) -> str:
        apart = abs(here - there)
        noun = self.singular if apart == 1 else self.plural
        if not here:
            return f"no {self.singular}"
        if not there:
            return f"{_number(here)} {noun}"
        return f"{_number(apart)} {noun} {'more' if here > there else 'fewer'} than {than}"


def _counted_differences(
    one: Arrangement, other: Arrangement, than: Setup, prices: Prices
) -> Iterator[_Difference]:
    for each in _COUNTS:
        difference = each.difference(one, other, str(than), prices)
        if difference:
            yield difference


def _number(count: int) -> str:
    return _SMALL_NUMBERS[count] if count < len(_SMALL_NUMBERS) else str(count)


def _steps(*steps: RelaxationStep) -> Callable[[Arrangement], int]:
    return lambda page: sum(Counter(each.step for each in page.relaxations)[step] for step in steps)


def _at_price(name: str) -> Callable[[Arrangement, Prices], float]:
    return lambda _, prices: float(getattr(prices, name))


def _mean_barre_price(page: Arrangement, prices: Prices) -> float:
    laid = [
        (prices.full_barre_laid if barre.is_full else prices.half_barre_laid)
        + float(barre.span.duration)
        * (prices.full_barre_kept_per_quarter if barre.is_full else prices.half_barre_kept_per_quarter)
        for barre in page.barres
    ]
    return _mean(laid, prices.half_barre_laid)


def _mean_shift_price(page: Arrangement, prices: Prices) -> float:
    shifts = list_shifts(page.notes)
    return _mean(
        [prices.shift + _travel_mm(shift) * prices.shift_per_100_mm / _MM for shift in shifts], prices.shift
    )


def _travel_mm(shift: Shift) -> float:
    return abs(fret_distance_mm(shift.new_position) - fret_distance_mm(shift.old_position))


def _mean_high_price(page: Arrangement, prices: Prices) -> float:
    frets = [place.fret - _HIGH_FRET for place in _high_places(page)]
    return prices.high_fret_per_fret * _mean(frets, 1)


def _high_places(page: Arrangement) -> list[Place]:
    return [note.place for note in page.notes if note.place.fret > _HIGH_FRET]


def _mean(values: Iterable[float], empty: float) -> float:
    listed = list(values)
    return sum(listed) / len(listed) if listed else empty


def _closed_bass_price(_: Arrangement, prices: Prices) -> float:
    """An open bass spares the finger that would press it, and its way there."""
    return -float(prices.finger_pressed + prices.finger_jump)


def _count_bars_made_easier(page: Arrangement) -> int:
    steps = {RelaxationStep.BAR_EASED, RelaxationStep.LEVEL_KEPT}
    return len({each.bar for each in page.relaxations if each.step in steps})


def _low_melody(page: Arrangement) -> int:
    return sum(note.place.string > _SINGING_STRINGS for note in page.voice(Role.MELODY))


_COUNTS = (
    _Count(
        "open bass",
        "open basses",
        lambda page: sum(note.place.is_open for note in page.voice(Role.BASS)),
        _closed_bass_price,
    ),
    _Count("barre", "barres", lambda page: len(page.barres), _mean_barre_price),
    _Count("shift", "shifts", lambda page: len(list_shifts(page.notes)), _mean_shift_price),
    _Count("note above fret 4", "notes above fret 4", lambda page: len(_high_places(page)), _mean_high_price),
    _Count(
        "note of the tune on string 3 or lower",
        "notes of the tune on string 3 or lower",
        _low_melody,
        _at_price("melody_string_three"),
    ),
    _Count(
        "note of the tune in another octave",
        "notes of the tune in another octave",
        lambda page: sum(change.until is None for change in page.melody_changes),
        _at_price("melody_changed"),
    ),
    _Count(
        "bass left out", "basses left out", _steps(RelaxationStep.BASS_DROPPED), _at_price("bass_missing")
    ),
    _Count(
        "inversion",
        "inversions",
        _steps(RelaxationStep.BASS_INVERSION, RelaxationStep.BASS_OCTAVE),
        _at_price("bass_third"),
    ),
    _Count(
        "bass let go early",
        "basses let go early",
        lambda page: len(page.given_up_holds),
        _at_price("bass_hold_lost"),
    ),
    _Count(
        "eighth left empty",
        "eighths left empty",
        _steps(RelaxationStep.INNER_DROPPED),
        _at_price("motion_gap"),
    ),
    _Count(
        "bar made easier for the level",
        "bars made easier for the level",
        _count_bars_made_easier,
        _at_price("eased_stopped_note"),
    ),
    _Count(
        "bar beyond the level",
        "bars beyond the level",
        _steps(RelaxationStep.OVER_LEVEL),
        _at_price("bar_over_level"),
    ),
)
