"""The search once more, plainly: the reference for the quick one.

Written from ``docs/objective.md``, in plain Python, without arrays, without dominance and
without any code of the fingering room but the problem's own data. A state is everything the
hand does in a slice; each is expanded into every state of the next slice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product

from apoyando.fingering.problem import Candidate, NoWayError, Problem, Slice, VoiceSlice
from apoyando.model.hand import Finger
from apoyando.model.instrument import Place, Tuning, distance_mm, fret_distance_mm
from apoyando.model.level import BarreKind, Level
from apoyando.model.prices import Prices

FORBIDDEN = 1 << 28
POSITIONS = range(1, 20)
COMFORTABLE_SECONDS = 0.35


@dataclass(frozen=True)
class Press:
    """One sounding note: which candidate, where, with which finger (0 open), flat or tip."""

    candidate: int
    place: Place
    finger: int
    flat: bool

    @property
    def held_as(self) -> tuple[Place, int]:
        return self.place, self.finger


@dataclass(frozen=True)
class State:
    voices: tuple[Press | None, ...]
    position: int
    met: int

    @property
    def presses(self) -> tuple[Press, ...]:
        return tuple(press for press in self.voices if press)

    @property
    def is_free(self) -> bool:
        return all(press.finger == 0 for press in self.presses)

    @property
    def barre(self) -> tuple[int, int]:
        """Of finger 1: (fret, lowest-pitched string), (0, 0) without."""
        flat = [press.place for press in self.presses if press.flat and press.finger == 1]
        return (flat[0].fret, max(place.string for place in flat)) if flat else (0, 0)


@dataclass(frozen=True)
class World:
    tuning: Tuning
    level: Level
    prices: Prices
    hand_size: float = 1.0


Pattern = tuple[tuple[Place, int] | None, ...]
Memory = tuple[tuple[tuple[int, int], Pattern], ...]
"""How the slices of each group were played where it first came: (group, place in it) and how."""


def plain_best_price(problem: Problem, world: World) -> int:
    """The least price of all ways through the problem that play alike what should be."""
    best: dict[tuple[State, Memory], int] = {}
    before: Slice | None = None
    for index, slice_ in enumerate(problem.slices):
        reached: dict[tuple[State, Memory], int] = {}
        for state, static in states_of(slice_, world):
            if before is None:
                total = static + beginning_price(state, world.prices)
                reach(reached, state, remember((), problem, index, state), total)
                continue
            for (old, memory), price in best.items():
                step = step_price(before, old, slice_, state, world)
                if step is None:
                    continue
                met = state.met | (0 if slice_.opens_window else old.met)
                total = price + step + static + (owed(before, old) if slice_.opens_window else 0)
                new = State(state.voices, state.position, met)
                reach(reached, new, remember(memory, problem, index, state), total)
        best, before = reached, slice_
    assert before is not None
    if not best:
        raise NoWayError
    return min(price + owed(before, state) for (state, _), price in best.items())


def reach(reached: dict[tuple[State, Memory], int], state: State, memory: Memory | None, price: int) -> None:
    if memory is not None and price < reached.get((state, memory), FORBIDDEN):
        reached[state, memory] = price


def remember(memory: Memory, problem: Problem, index: int, state: State) -> Memory | None:
    """The memory with this slice; None if it was played otherwise before."""
    pattern = tuple(press.held_as if press else None for press in state.voices)
    for number, group in enumerate(problem.alike):
        for stretch in group:
            if index in stretch:
                place = number, index - stretch.start
                if dict(memory).get(place, pattern) != pattern:
                    return None
                return tuple({**dict(memory), place: pattern}.items())
    return memory


def owed(slice_: Slice, state: State) -> int:
    return sum(price for bit, price in enumerate(slice_.wanted) if not state.met >> bit & 1)


def states_of(slice_: Slice, world: World) -> Iterator[tuple[State, int]]:
    """Every state of a slice with what it costs by itself."""
    for voices in product(*(ways(voice, world) for voice in slice_.voices)):
        presses = [press for press in voices if press]
        if not hand_can(presses, world) or not hand_may(presses, slice_):
            continue
        price = hand_price(presses, slice_, world) + interplay_price(slice_, voices)
        met = 0
        for voice, press in zip(slice_.voices, voices, strict=True):
            price += note_price(voice, press)
            met |= voice.candidates[press.candidate].fills if press else 0
        if price >= FORBIDDEN:
            continue
        for position in positions(presses):
            if slice_.restriction.position not in (None, position):
                continue
            yield State(voices, position, met), price


def interplay_price(slice_: Slice, voices: tuple[Press | None, ...]) -> int:
    price = 0
    for pair in slice_.interplay:
        one, other = voices[pair.one], voices[pair.other]
        if one and other:
            price += pair.prices[one.candidate][other.candidate]
    return price


def ways(role: VoiceSlice, world: World) -> list[Press | None]:
    found: list[Press | None] = []
    let_go = role.is_held and role.release_price is not None
    if role.is_silent or role.none_price is not None or let_go:
        found.append(None)
    for index, candidate in enumerate(role.candidates):
        found += presses_of(index, candidate, world)
    return found


def presses_of(index: int, candidate: Candidate, world: World) -> Iterator[Press]:
    for place in world.tuning.places(candidate.note, candidate.highest_fret):
        fingers = (0,) if place.is_open else (1, 2, 3, 4)
        for finger in fingers:
            if candidate.fingers and finger not in candidate.fingers:
                continue
            if candidate.strings and place.string not in candidate.strings:
                continue
            yield Press(index, place, finger, flat=False)
            if finger and world.level.allows_barre and (finger == 1 or world.level.small_barres):
                yield Press(index, place, finger, flat=True)


def hand_may(presses: list[Press], slice_: Slice) -> bool:
    """Whether the player allows it."""
    restriction = slice_.restriction
    return not any(
        press.finger in restriction.free_fingers or (press.flat and not restriction.allows_barre)
        for press in presses
    )


def hand_can(presses: list[Press], world: World) -> bool:
    if not all(barre_can(finger, presses) for finger in (1, 2, 3, 4)):
        return False
    return barre_is_near(presses, world) and all(
        two_can(one, other, world) for one, other in combinations(presses, 2)
    )


def barre_can(finger: int, presses: list[Press]) -> bool:
    """Whether a finger that lies flat covers two strings, and nothing but higher frets between."""
    flat = [press.place for press in presses if press.flat and press.finger == finger]
    if not flat:
        return True
    fret = flat[0].fret
    lowest, highest = max(int(p.string) for p in flat), min(int(p.string) for p in flat)
    beside = [p.place.string for p in presses if p.finger != finger and p.place.fret <= fret]
    if finger == 1 and not any(string < lowest for string in beside):
        highest = 1  # it lies on up to string 1
    return highest < lowest and not any(highest < string < lowest for string in beside)


def two_can(one: Press, other: Press, world: World) -> bool:
    if one.place.string == other.place.string:
        return False
    if one.finger == 0 or other.finger == 0:
        return world.level.small_barres or not open_beside_barre(one, other)
    if one.finger == other.finger:
        return one.flat and other.flat and one.place.fret == other.place.fret
    low, high = sorted((one, other), key=lambda press: press.finger)
    if not in_order(low, high) or (beside_barre(low, high) and not world.level.small_barres):
        return False
    return span_mm(low, high, world) <= outermost_mm(low, high, world)


def span_mm(low: Press, high: Press, world: World) -> float:
    """Between tips; from a barre that lies on up to string 1 along the other finger's string."""
    if low.flat and world.level.barre_lies_across:
        return distance_mm(Place(high.place.string, low.place.fret), high.place)
    return distance_mm(low.place, high.place)


def barre_is_near(presses: list[Press], world: World) -> bool:
    """From a barre that lies on up to string 1 to the fingers beyond its lowest string."""
    flat = [press for press in presses if press.flat]
    if not flat or not world.level.barre_lies_across:
        return True
    lowest = max(flat, key=lambda press: press.place.string)
    return all(
        distance_mm(lowest.place, press.place) <= outermost_mm(lowest, press, world)
        for press in presses
        if press.finger > 1 and press.place.string > lowest.place.string
    )


def outermost_mm(low: Press, high: Press, world: World) -> float:
    return world.level.spans[Finger(low.finger), Finger(high.finger)].outermost_mm * world.hand_size


def in_order(low: Press, high: Press) -> bool:
    return (low.place.fret, -low.place.string) < (high.place.fret, -high.place.string)


def beside_barre(low: Press, high: Press) -> bool:
    """Whether one presses at the very fret at which the other lies flat."""
    return low.flat and low.place.fret == high.place.fret


def open_beside_barre(one: Press, other: Press) -> bool:
    """Whether one is open and the other in a barre of finger 1 on a lower-pitched string."""
    return any(
        a.flat and a.finger == 1 and b.finger == 0 and b.place.string < a.place.string
        for a, b in both_ways(one, other)
    )


def both_ways(one: Press, other: Press) -> tuple[tuple[Press, Press], tuple[Press, Press]]:
    return (one, other), (other, one)


def positions(presses: list[Press]) -> list[int]:
    pressed = [press for press in presses if press.finger]
    if not pressed:
        return list(POSITIONS)
    lowest = min(pressed, key=lambda press: press.finger)
    return [max(lowest.place.fret - lowest.finger + 1, 1)]


def note_price(role: VoiceSlice, press: Press | None) -> int:
    if not role.is_struck:
        return 0
    if press is None:
        return role.none_price or 0
    price = role.candidates[press.candidate].price
    if role.string_prices:
        price += role.string_prices[press.place.string - 1]
    if role.fret_prices:
        price += role.fret_prices[press.place.fret]
    return price


def hand_price(presses: list[Press], slice_: Slice, world: World) -> int:
    prices = world.prices
    price = sum(touch_price(press, prices) for press in presses if press.finger)
    price += sum(pair_price(one, other, world) for one, other in combinations(presses, 2))
    price += posture_price(presses, prices)
    barred = [press.place.string for press in presses if press.flat and press.finger == 1]
    if barred:
        is_full = max(barred) >= 5
        kept = prices.full_barre_kept_per_quarter if is_full else prices.half_barre_kept_per_quarter
        price += round(kept * slice_.quarters)
    return price


def posture_price(presses: list[Press], prices: Prices) -> int:
    """What the hand as a whole minds, besides its fingers and their pairs."""
    price = 0
    stopped = {int(press.place.string): press for press in presses if press.finger}
    if ring_reaches(stopped):
        price += prices.ring_on_string_one
    if is_alone_off_its_fret(stopped):
        price += prices.lone_finger_off_its_fret
    if middle_is_beside(stopped):
        price += prices.middle_beside_index
    sounding = {int(press.place.string) for press in presses}
    barred = [string for string, p in stopped.items() if p.flat and p.finger == 1]
    if barred and not sounding.issuperset(range(min(barred), max(barred))):
        price += prices.barre_over_silent_string
    for finger in (2, 3, 4):
        flat = [string for string, p in stopped.items() if p.flat and p.finger == finger]
        if flat and min(sounding) < min(flat):
            price += prices.small_barre_below_string
    return price


def ring_reaches(stopped: dict[int, Press]) -> bool:
    """The tip of finger 3 on string 1, finger 1 two frets lower, finger 2 not on string 2."""
    ring = stopped.get(1)
    if not ring or ring.finger != 3 or ring.flat or (2 in stopped and stopped[2].finger == 2):
        return False
    return any(p.finger == 1 and ring.place.fret - p.place.fret == 2 for p in stopped.values())


def is_alone_off_its_fret(stopped: dict[int, Press]) -> bool:
    """One note is stopped, at frets 1 to 4, and the finger has not the number of its fret."""
    return len(stopped) == 1 and all(p.place.fret <= 4 and p.finger != p.place.fret for p in stopped.values())


def middle_is_beside(stopped: dict[int, Press]) -> bool:
    """Tip 2 on string 1, tip 1 at the same fret on string 2, a higher finger on strings 3 to 6."""
    first, second = stopped.get(1), stopped.get(2)
    if not first or not second or first.flat or second.flat or first.place.fret != second.place.fret:
        return False
    beyond = any(string > 2 and press.finger > 2 for string, press in stopped.items())
    return (second.finger, first.finger) == (1, 2) and beyond


def touch_price(press: Press, prices: Prices) -> int:
    price = prices.finger_pressed + prices.high_fret_per_fret * max(press.place.fret - 4, 0)
    if press.flat and press.finger > 1:
        price += prices.small_barre_per_string
    return price + (0, 0, prices.middle_finger, prices.ring_finger, prices.little_finger)[press.finger]


def pair_price(one: Press, other: Press, world: World) -> int:
    if {one.finger, other.finger} == {0, 1} and (one.flat or other.flat):
        return world.prices.barre_beside_open_per_string
    if one.finger == other.finger or 0 in (one.finger, other.finger):
        return 0
    low, high = sorted((one, other), key=lambda press: press.finger)
    limit = world.level.spans[Finger(low.finger), Finger(high.finger)]
    comfort, outermost = limit.comfortable_mm * world.hand_size, limit.outermost_mm * world.hand_size
    strain = (distance_mm(low.place, high.place) - comfort) / max(outermost - comfort, 1e-9)
    wider = (high.place.fret - low.place.fret) - (high.finger - low.finger)
    prices = world.prices
    apart = high.place.fret - low.place.fret
    closer = 0 if low.flat and low.finger == 1 else max(-wider - 1, 0) * prices.contraction_per_fret
    if high.finger - low.finger == 1:
        closer += max(low.place.string - high.place.string, 0) * prices.neighbour_to_treble_per_string
    if apart == 1 and (low.flat or high.flat):
        closer += max(-wider, 0) * prices.crowded_by_barre_per_fret
    if low.flat or high.flat:
        return closer + max(wider, 0) * prices.extension_from_barre_per_fret
    stretch = round(min(max(strain, 0.0), 1.0) * prices.stretch_beyond_comfort)
    return closer + max(wider, 0) * prices.extension_per_fret + stretch


def step_price(before: Slice, old: State, slice_: Slice, new: State, world: World) -> int | None:
    """What it costs to go from one state to the next; None if it cannot be done."""
    price = 0
    for voice, was, now in zip(slice_.voices, old.voices, new.voices, strict=True):
        if voice.is_held and (was.held_as if was else None) != (now.held_as if now else None):
            if now is not None or voice.release_price is None:
                return None
            price += voice.release_price
        if voice.steps and was and now:
            price += voice.steps[was.candidate][now.candidate]
    for pair in slice_.successions:
        one, other = old.voices[pair.one], new.voices[pair.other]
        if one and other:
            price += pair.prices[one.candidate][other.candidate]
    price += sum(hinge_price(new.barre[1], world) for voice in hinged(slice_, old, new) if voice)
    price += sum(lift_price(world) for voice in hinged(slice_, new, old) if voice)
    price += hasty_price(before, old, slice_, new, world)
    for had, voice, was, now in zip(before.voices, slice_.voices, old.voices, new.voices, strict=True):
        if had.sings and voice.is_struck and was and now:
            price += bell_price(was, now, world)
    return price + moved_fingers(before, old, slice_, new, world.prices) + hand_move(before, old, new, world)


def hasty_price(before: Slice, old: State, slice_: Slice, new: State, world: World) -> int:
    """A short stopped note is over, and one in another position begins: however many, the hand shifts once."""
    if not is_short(before, world):
        return 0
    over = [
        press
        for was, now, press in zip(before.voices, slice_.voices, old.voices, strict=True)
        if press and was.is_struck and not now.is_held
    ]
    begun = [press for now, press in zip(slice_.voices, new.voices, strict=True) if press and now.is_struck]
    return world.prices.shift_hasty * any(must_shift(one, other) for one, other in product(over, begun))


def bell_price(one: Press, other: Press, world: World) -> int:
    """The tune goes by step to the string beside, and no finger has to leave the one before."""
    step = abs(world.tuning.note_at(one.place) - world.tuning.note_at(other.place))
    rings = one.finger == 0 or one.finger != other.finger
    beside = abs(one.place.string - other.place.string) == 1
    return world.prices.campanella if step in (1, 2) and beside and rings else 0


def is_short(slice_: Slice, world: World) -> bool:
    """Up to the level's tempo lengths count as written, above it by their seconds."""
    per_minute = slice_.quarters / (slice_.seconds / 60)
    faster = max(per_minute / world.level.tempo_quarters_per_minute, 1)
    return slice_.quarters < float(world.level.shift_quarters) * faster - 1e-6


def must_shift(one: Press, other: Press) -> bool:
    """No position has both within a fret of their fingers, or one finger goes farther than a fret."""
    if one.finger == 0 or other.finger == 0:
        return False
    if one.finger == other.finger and abs(one.place.fret - other.place.fret) > 1:
        return True
    return not any(within(position, one) and within(position, other) for position in range(-9, 25))


def within(position: int, press: Press) -> bool:
    """Whether a finger reaches its fret from a position; behind the first fret the hand lies at it."""
    own = press.place.fret - press.finger + 1
    reach = 0 if press.flat and press.finger == 1 else 1
    return own - reach <= position <= max(own + reach, 1)


def hinged(slice_: Slice, old: State, new: State) -> list[bool]:
    """Whether a tip of finger 1 is laid flat while its note goes on, for each voice; lifted from new to old."""
    return [
        voice.is_held and now.flat and not was.flat and now.finger == 1
        for voice, was, now in zip(slice_.voices, old.voices, new.voices, strict=True)
        if not (was is None or now is None)
    ]


def hinge_price(string: int, world: World) -> int:
    prices = world.prices
    if BarreKind.HINGE not in world.level.barre_kinds:
        return prices.hinge_over_level
    return prices.hinge_barre_laid - laid_price(string, prices)


def lift_price(world: World) -> int:
    return 0 if BarreKind.HINGE in world.level.barre_kinds else world.prices.hinge_over_level


def laid_price(string: int, prices: Prices) -> int:
    return prices.full_barre_laid if string >= 5 else prices.half_barre_laid


def beginning_price(state: State, prices: Prices) -> int:
    """A barre that is there from the start was laid in all the time that there is."""
    fret, string = state.barre
    return round(laid_price(string, prices) / 2) if fret else 0


def share_of_time(seconds: float) -> float:
    return min(max(COMFORTABLE_SECONDS / max(seconds, 1e-6), 0.25), 1.8)


def moved_fingers(before: Slice, old: State, slice_: Slice, new: State, prices: Prices) -> int:
    """The widest jump or exchange of all fingers, and what each that slides takes off."""
    jumps, slides = [0], 0
    share = share_of_time(before.seconds)
    pairs = product(zip(before.voices, old.voices, strict=True), zip(slice_.voices, new.voices, strict=True))
    for (voice, was), (next_, now) in pairs:
        if not was or not now or 0 in (was.finger, now.finger) or was.flat or now.flat:
            continue
        sings = voice.sings or next_.sings
        lifts = may_lift(before, slice_) and (strikes_chord(slice_) or not sings)
        if was.finger != now.finger:
            is_exchange = was.place == now.place and not lifts
            jumps.append(round(prices.finger_exchanged * share) * is_exchange)
        elif was.place == now.place:
            continue
        elif is_slide(was.place, now.place, was.finger):
            # It leads the hand where the hand goes along.
            slides += round(prices.guide_finger * share) * (old.position != new.position)
        else:
            mm = distance_mm(was.place, now.place)
            jumps.append(round(jump_price(mm, prices, sings=voice.sings, lifts=lifts) * share))
    return max(jumps) + slides


def may_lift(before: Slice, slice_: Slice) -> bool:
    """Whether no note goes on, and there is a comfortable time: the hand may lift as a whole."""
    return before.seconds >= COMFORTABLE_SECONDS and not any(voice.is_held for voice in slice_.voices)


def strikes_chord(slice_: Slice) -> bool:
    """Whether three notes or more are due, so that the hand lifts for the tune too."""
    return sum(voice.is_struck for voice in slice_.voices) >= 3


def jump_price(mm: float, prices: Prices, *, sings: bool, lifts: bool) -> int:
    """In a comfortable time."""
    gap = prices.melody_gap if sings else 0
    if lifts:
        return round(mm / 100 * prices.hand_lifted_per_100_mm) + gap
    return prices.finger_jump + round(mm / 100 * prices.finger_jump_per_100_mm) + gap


def is_slide(old: Place, new: Place, finger: int) -> bool:
    """Along one string, and not behind the fret of its number."""
    return old.string == new.string and min(old.fret, new.fret) >= finger


def hand_move(before: Slice, old: State, new: State, world: World) -> int:
    prices = world.prices
    price = 0
    if old.position != new.position:
        in_the_air = old.is_free or new.is_free
        share = 0.5 if in_the_air else share_of_time(before.seconds)
        far = abs(fret_distance_mm(old.position) - fret_distance_mm(new.position))
        price += round((prices.shift + far / 100 * prices.shift_per_100_mm) * share)
        if abs(old.position - new.position) > world.level.shift_frets and not in_the_air:
            price += prices.shift_over_level
    fret, string = new.barre
    if fret and fret != old.barre[0]:
        price += laid_price(string, prices)
    return price
