"""The search problem once more, as a model for a general-purpose solver (OR-Tools CP-SAT).

Written from ``docs/objective.md``; of the fingering room it knows the problem's data alone.
What one press costs, what two cost together and which two the hand can do at once is taken
from the plain reference. The order is that of every optimisation model: data, variables,
constraints, objective, solve.

Conventions: a *choice* is a dictionary from what can be chosen to a Boolean, of which exactly
one is true. Two choices that cost something together are joined by a Boolean for each pair
that is possible (``pair_up``): so the relaxation is tight, and the proof is found in seconds.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise, permutations, product
from typing import Any, TypeVar

from ortools.sat.python import cp_model

from apoyando.fingering.problem import FORBIDDEN, Problem, Slice, Table, VoiceSlice
from apoyando.model.instrument import Place, distance_mm, fret_distance_mm
from references.plain_search import (
    Press,
    World,
    bell_price,
    hand_may,
    hinge_price,
    is_alone_off_its_fret,
    is_short,
    is_slide,
    jump_price,
    laid_price,
    lift_price,
    may_lift,
    must_shift,
    note_price,
    outermost_mm,
    pair_price,
    strikes_chord,
    touch_price,
    two_can,
    ways,
)

Key = TypeVar("Key", bound=Hashable)
Other = TypeVar("Other", bound=Hashable)
Expression = Any
"""A Boolean or a sum of Booleans of the model."""

FINGERS = (1, 2, 3, 4)
FULL_BARRE_STRING = 5
"""A barre over five or six strings is a full one."""


class NoProofError(RuntimeError):
    """The solver stopped without the proof that its answer is the optimum."""


# Data.


@dataclass(frozen=True)
class Tip:
    """A finger tip at a place; ``sings`` if it holds the melody."""

    place: Place
    sings: bool


@dataclass(frozen=True)
class Barre:
    """Finger 1 flat at a fret, over at least five strings (full) or fewer."""

    fret: int
    is_full: bool


@dataclass(frozen=True)
class Stance:
    """Where the hand is: its position, and whether no finger presses."""

    position: int
    is_free: bool


@dataclass(frozen=True)
class Moment:
    """The variables of one slice. Keys of None: silent, no tip of this finger, no barre."""

    slice: Slice
    voices: tuple[Mapping[Press | None, Expression], ...]
    tips: Mapping[int, Mapping[Tip | None, Expression]]
    barre: Mapping[Barre | None, Expression]
    stance: Mapping[Stance, Expression]


@dataclass(frozen=True)
class Sheet:
    """The model as it is being written, and the terms of its objective so far."""

    world: World
    waits: Sequence[int]
    """Where a free hand may wait: beyond the highest fret of the problem only makes ways longer."""
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    costs: list[Expression] = field(default_factory=list)

    def pay(self, price: int, amount: Expression) -> None:
        if price:
            self.costs.append(price * amount)


def solve_exactly(
    problem: Problem,
    world: World,
    *,
    seconds: float | None = None,
    tell: Callable[[str], None] | None = None,
) -> int | None:
    """The least price, proven; None where no way is possible. ``tell`` gets the solver's statistics.

    Raises NoProofError if there is no proof after so many ``seconds``.
    """
    return solve_model(write_model(problem, world), seconds=seconds, tell=tell)


def write_model(problem: Problem, world: World) -> cp_model.CpModel:
    sheet = Sheet(world, range(1, highest_fret(problem, world) + 1))
    moments = [write_slice(sheet, slice_) for slice_ in problem.slices]
    write_beginning(sheet, moments[0])
    for before, after in pairwise(moments):
        write_move(sheet, before, after)
    write_windows(sheet, moments)
    for stretches in problem.alike:
        for slices in zip(*stretches, strict=True):
            write_alike(sheet, [moments[index] for index in slices])
    # Objective: the sum of all that is paid.
    sheet.model.minimize(sum(sheet.costs))
    return sheet.model


def highest_fret(problem: Problem, world: World) -> int:
    voices = [voice for slice_ in problem.slices for voice in slice_.voices]
    return max((p.place.fret for voice in voices for p in ways(voice, world) if p), default=1) or 1


def solve_model(
    model: cp_model.CpModel, *, seconds: float | None = None, tell: Callable[[str], None] | None = None
) -> int | None:
    solver = cp_model.CpSolver()
    set_up(solver, seconds)
    status = solver.solve(model)
    if tell:
        tell(solver.response_stats())
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        raise NoProofError(solver.status_name(status))
    return round(solver.objective_value)


def set_up(solver: cp_model.CpSolver, seconds: float | None) -> None:
    """The fastest settings that were found; with the solver's own a proof takes four times as long."""
    solver.parameters.num_workers = 1
    # The linear relaxation of the pairs is nearly exact: solve it in full, and cut nothing off.
    solver.parameters.linearization_level = 2
    solver.parameters.root_lp_iterations = 100_000
    solver.parameters.cut_level = 0
    solver.parameters.add_lp_constraints_lazily = False
    # There is no symmetry to be found, and probing finds nothing that the relaxation does not.
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    if seconds is not None:
        solver.parameters.max_time_in_seconds = seconds


# Variables and constraints of one slice.


def write_slice(sheet: Sheet, slice_: Slice) -> Moment:
    # Each voice sounds in exactly one of its ways, or is silent where it may be.
    voices = tuple(choose(sheet, ways(voice, sheet.world)) for voice in slice_.voices)
    for voice, choice in zip(slice_.voices, voices, strict=True):
        write_presses(sheet, voice, choice)
        for press, chosen in choice.items():
            # The player may forbid a finger, or every barre.
            if press and not hand_may([press], slice_):
                sheet.model.add(chosen == 0)
    write_together(sheet, slice_, voices)
    barre = write_barre(sheet, slice_, voices)
    if sheet.world.level.small_barres:
        write_small_barres(sheet, voices)
    if sheet.world.level.barre_lies_across:
        write_reach_of_barres(sheet, voices)
    write_postures(sheet, voices)
    tips = {finger: write_tips(sheet, finger, slice_, voices) for finger in FINGERS}
    stance = write_stance(sheet, tips, barre)
    if slice_.restriction.position is not None:
        # The player may ask for a position.
        sheet.model.add(sum(s for at, s in stance.items() if at.position == slice_.restriction.position) == 1)
    return Moment(slice_, voices, tips, barre, stance)


def write_presses(sheet: Sheet, voice: VoiceSlice, choice: Mapping[Press | None, Expression]) -> None:
    for press, chosen in choice.items():
        # A note that is struck is paid for, and so is a silence where one is due.
        sheet.pay(note_price(voice, press), chosen)
        # Every finger that presses is paid for.
        if press and press.finger:
            sheet.pay(touch_price(press, sheet.world.prices), chosen)


def write_together(
    sheet: Sheet, slice_: Slice, voices: tuple[Mapping[Press | None, Expression], ...]
) -> None:
    interplay = {(pair.one, pair.other): pair.prices for pair in slice_.interplay}

    for one, other in combinations(range(len(voices)), 2):
        table = interplay.get((one, other))

        def price(a: Press | None, b: Press | None, table: Any = table) -> int | None:
            if a is None or b is None:
                return 0
            return together_price(a, b, table[a.candidate][b.candidate] if table else 0, sheet.world)

        # Two voices sound together only as the hand and the ear allow, at the price of the pair.
        pair_up(sheet, voices[one], voices[other], price)


def together_price(one: Press, other: Press, interplay: int, world: World) -> int | None:
    if interplay >= FORBIDDEN or not two_can(one, other, world):
        return None
    return interplay + pair_price(one, other, world)


def write_barre(
    sheet: Sheet, slice_: Slice, voices: tuple[Mapping[Press | None, Expression], ...]
) -> Mapping[Barre | None, Expression]:
    flat: dict[int, list[tuple[int, Expression]]] = defaultdict(list)
    for press, chosen in presses(voices):
        if press.flat and press.finger == 1:
            flat[press.place.fret].append((press.place.string, chosen))
    # Finger 1 lies flat at one fret at most.
    barre = choose(sheet, [None, *(Barre(fret, full) for fret in sorted(flat) for full in (False, True))])
    for fret, notes in flat.items():
        laid, full = barre[Barre(fret, False)] + barre[Barre(fret, True)], barre[Barre(fret, True)]
        for string, chosen in notes:
            # A note under a barre needs the barre at its fret; on string 5 or 6, a full one.
            sheet.model.add(chosen <= (full if string >= FULL_BARRE_STRING else laid))
        # A full barre has a note on string 5 or 6.
        sheet.model.add(full <= sum(chosen for string, chosen in notes if string >= FULL_BARRE_STRING))
        # A barre reaches beyond string 1.
        sheet.model.add(laid <= sum(chosen for string, chosen in notes if string > 1))
        # A barre is paid for by the time that it is kept.
        prices = sheet.world.prices
        sheet.pay(round(prices.full_barre_kept_per_quarter * slice_.quarters), full)
        sheet.pay(round(prices.half_barre_kept_per_quarter * slice_.quarters), barre[Barre(fret, False)])
    return barre


def write_reach_of_barres(sheet: Sheet, voices: tuple[Mapping[Press | None, Expression], ...]) -> None:
    flat = [(press, chosen) for press, chosen in presses(voices) if press.flat]
    for (note, lies), (press, chosen) in product(flat, presses(voices)):
        beyond = press.finger > 1 and press.place.string > note.place.string
        if beyond and distance_mm(note.place, press.place) > outermost_mm(note, press, sheet.world):
            lower = (
                other
                for low, other in flat
                if low.place.fret == note.place.fret and low.place.string > note.place.string
            )
            # A finger beyond a barre is within reach of its lowest note.
            sheet.model.add(chosen + lies <= 1 + sum(lower))


def write_small_barres(sheet: Sheet, voices: tuple[Mapping[Press | None, Expression], ...]) -> None:
    flat: dict[tuple[int, int], list[tuple[int, Expression]]] = defaultdict(list)
    for press, chosen in presses(voices):
        if press.flat:
            flat[press.finger, press.place.fret].append((press.place.string, chosen))
    for (finger, fret), notes in flat.items():
        beside = [
            (press.place.string, chosen)
            for press, chosen in presses(voices)
            if press.finger != finger and press.place.fret <= fret
        ]
        for string, chosen in notes:
            company = sum(other for where, other in notes if where != string)
            if finger > 1:
                # Finger 2, 3 or 4 lies flat for two notes or more.
                sheet.model.add(chosen <= company)
            for between, sounding in beside:
                # Nor does finger 1 lie flat for one where it cannot lie on up to string 1.
                if finger == 1 and between < string:
                    sheet.model.add(chosen + sounding <= 1 + company)
        for (low, one), (high, other), (between, sounding) in product(notes, notes, beside):
            # No other finger and no open string sounds in a barre at its fret or below.
            if high < between < low:
                sheet.model.add(one + other + sounding <= 2)


def write_lone_finger(sheet: Sheet, pressed: Iterable[tuple[Press, Expression]]) -> None:
    stopped = [(press, chosen) for press, chosen in pressed if press.finger]
    off = sheet.model.new_bool_var("")
    sheet.pay(sheet.world.prices.lone_finger_off_its_fret, off)
    for press, chosen in stopped:
        if is_alone_off_its_fret({press.place.string: press}):
            others = sum(other for beside, other in stopped if beside.place.string != press.place.string)
            # One note is stopped, and not by the finger of its fret.
            sheet.model.add(off + others >= chosen)


def write_postures(sheet: Sheet, voices: tuple[Mapping[Press | None, Expression], ...]) -> None:
    prices = sheet.world.prices
    ring, barre = sheet.model.new_bool_var(""), sheet.model.new_bool_var("")
    sheet.pay(prices.ring_on_string_one, ring)
    sheet.pay(prices.barre_over_silent_string, barre)
    small = {finger: sheet.model.new_bool_var("") for finger in FINGERS[1:]}
    for below in small.values():
        sheet.pay(prices.small_barre_below_string, below)
    pressed = presses(voices)
    write_middle_beside_index(sheet, pressed)
    write_lone_finger(sheet, pressed)
    for (one, chosen), (other, too) in product(pressed, pressed):
        if one.finger == 3 and not one.flat and one.place.string == 1 and other.finger == 1:
            if one.place.fret - other.place.fret == 2:
                # Finger 3 reaches string 1 two frets above finger 1, unless finger 2 is on string 2.
                helped = sum(c for p, c in pressed if p.finger == 2 and p.place.string == 2)
                sheet.model.add(ring + helped >= chosen + too - 1)
        elif one.flat and one.finger == 1 and other.flat and other.finger == 1:
            for silent in range(other.place.string + 1, one.place.string):
                # A string between two notes of a barre is silent.
                sounding = sum(c for p, c in pressed if p.place.string == silent)
                sheet.model.add(barre + sounding >= chosen + too - 1)
        elif one.flat and one.finger > 1 and other.finger != one.finger:
            # A small barre has a string that sounds beyond it.
            beyond = other.place.string
            if beyond < one.place.string:
                on = sum(
                    c for p, c in pressed if p.flat and p.finger == one.finger and p.place.string < beyond
                )
                sheet.model.add(small[one.finger] + on >= chosen + too - 1)


def write_middle_beside_index(sheet: Sheet, pressed: Sequence[tuple[Press, Expression]]) -> None:
    beside = sheet.model.new_bool_var("")
    sheet.pay(sheet.world.prices.middle_beside_index, beside)
    tips = [(press, chosen) for press, chosen in pressed if not press.flat]
    for (one, chosen), (other, too) in product(tips, tips):
        if one.place.fret != other.place.fret or (one.finger, other.finger) != (1, 2):
            continue
        if (one.place.string, other.place.string) != (2, 1):
            continue
        for string in range(3, 7):
            # Tip 2 on string 1 beside tip 1 on string 2, and a higher finger on a string beyond.
            beyond = sum(c for p, c in pressed if p.finger > 2 and p.place.string == string)
            sheet.model.add(beside >= chosen + too + beyond - 2)


def write_tips(
    sheet: Sheet, finger: int, slice_: Slice, voices: tuple[Mapping[Press | None, Expression], ...]
) -> Mapping[Tip | None, Expression]:
    held: dict[Tip, list[Expression]] = defaultdict(list)
    for voice, choice in zip(slice_.voices, voices, strict=True):
        for press, chosen in choice.items():
            if press and press.finger == finger and not press.flat:
                held[Tip(press.place, voice.sings)].append(chosen)
    # The tip of a finger is at one place, where it presses one note, or nowhere.
    tips = choose(sheet, [None, *held])
    for tip, notes in held.items():
        sheet.model.add(tips[tip] == sum(notes))
    return tips


def write_stance(
    sheet: Sheet,
    tips: Mapping[int, Mapping[Tip | None, Expression]],
    barre: Mapping[Barre | None, Expression],
) -> Mapping[Stance, Expression]:
    lead = write_lead(sheet, frets_of_fingers(tips, barre))
    at: dict[Stance, list[Expression]] = defaultdict(list)
    for leader, chosen in lead.items():
        if leader:
            finger, fret = leader
            # The position is where finger 1 lies, or would lie for the lowest finger that presses.
            at[Stance(max(fret - finger + 1, 1), is_free=False)].append(chosen)
    waits = [Stance(position, is_free=True) for position in sheet.waits]
    stance = choose(sheet, [*at, *waits])
    for where, leaders in at.items():
        sheet.model.add(stance[where] == sum(leaders))
    # Where no finger presses the hand may wait anywhere along the frets in use.
    sheet.model.add(lead[None] == sum(stance[wait] for wait in waits))
    return stance


Leader = tuple[int, int]
"""The lowest-numbered finger that presses, and its fret."""


def write_lead(
    sheet: Sheet, frets: Mapping[int, Mapping[int, Expression]]
) -> Mapping[Leader | None, Expression]:
    presses_ = {finger: sum(at.values()) for finger, at in frets.items()}
    # One finger leads, unless none presses.
    lead = choose(sheet, [None, *((finger, fret) for finger in FINGERS for fret in frets[finger])])
    for leader, chosen in lead.items():
        finger, fret = leader or (max(FINGERS) + 1, 0)
        if leader:
            # The leader presses at its fret …
            sheet.model.add(chosen <= frets[finger][fret])
        for lower in range(1, finger):
            # … and no lower-numbered finger presses.
            sheet.model.add(chosen + presses_[lower] <= 1)
    return lead


def frets_of_fingers(
    tips: Mapping[int, Mapping[Tip | None, Expression]], barre: Mapping[Barre | None, Expression]
) -> Mapping[int, Mapping[int, Expression]]:
    """For each finger and fret the sum of all ways to press there."""
    frets: dict[int, dict[int, Expression]] = {finger: {} for finger in FINGERS}
    for finger, choice in tips.items():
        for tip, chosen in choice.items():
            if tip:
                fret = int(tip.place.fret)
                frets[finger][fret] = frets[finger].get(fret, 0) + chosen
    for laid, chosen in barre.items():
        if laid:
            frets[1][laid.fret] = frets[1].get(laid.fret, 0) + chosen
    return frets


def write_beginning(sheet: Sheet, first: Moment) -> None:
    for barre, laid in first.barre.items():
        if barre:
            # A barre that is there from the start costs half of what it costs to lay it in time.
            sheet.pay(round(laid_price(lowest_string(barre), sheet.world.prices) / 2), laid)


# Constraints from one slice to the next.


def write_move(sheet: Sheet, before: Moment, after: Moment) -> None:
    for voice, was, now in zip(after.slice.voices, before.voices, after.voices, strict=True):
        if voice.is_held:
            write_hold(sheet, voice, was, now)
        if voice.steps:
            write_step(sheet, voice.steps, was, now)
    for pair in after.slice.successions:
        write_step(sheet, pair.prices, before.voices[pair.one], after.voices[pair.other])
    write_finger_moves(sheet, before, after)
    write_haste(sheet, before, after)
    write_bells(sheet, before, after)
    write_shift(sheet, before, after)
    write_laying(sheet, before, after)


def write_hold(
    sheet: Sheet,
    voice: VoiceSlice,
    was: Mapping[Press | None, Expression],
    now: Mapping[Press | None, Expression],
) -> None:
    old, new = grouped(was, place_and_finger), grouped(now, place_and_finger)
    if voice.release_price is None:
        # A held note keeps its string and its finger; what is silent stays silent.
        for key in {*old, *new}:
            sheet.model.add(new.get(key, 0) == old.get(key, 0))
        return
    # A held note keeps its string and its finger, unless it is let go.
    for key in {*new} - {None}:
        sheet.model.add(new[key] <= old.get(key, 0))
    # Letting go is paid for; a note that is silent already costs nothing more.
    let_go = sheet.model.new_bool_var("")
    sheet.model.add(new.get(None, 0) == old.get(None, 0) + let_go)
    sheet.pay(voice.release_price, let_go)


def write_haste(sheet: Sheet, before: Moment, after: Moment) -> None:
    if not is_short(before.slice, sheet.world):
        return
    pairs = list(zip(before.slice.voices, after.slice.voices, before.voices, after.voices, strict=True))
    over = [was for old, now, was, _ in pairs if old.is_struck and not now.is_held]
    begun = [chosen for _, now, _, chosen in pairs if now.is_struck]
    hurries = sheet.model.new_bool_var("")
    for (one, ends), choice in product(presses(over), begun):
        shifting = [begins for other, begins in choice.items() if other and must_shift(one, other)]
        # From a short note that is over to one in another position the hand must hurry.
        if shifting:
            sheet.model.add(hurries >= ends + sum(shifting) - 1)
    sheet.pay(sheet.world.prices.shift_hasty, hurries)


def write_bells(sheet: Sheet, before: Moment, after: Moment) -> None:
    def price(one: Press | None, other: Press | None) -> int:
        return bell_price(one, other, sheet.world) if one and other else 0

    pairs = zip(before.slice.voices, after.slice.voices, before.voices, after.voices, strict=True)
    for old, now, was, chosen in pairs:
        # A note of the tune may ring on under the next.
        if old.sings and now.is_struck and sheet.world.prices.campanella:
            pair_up(sheet, was, chosen, price)


def place_and_finger(press: Press | None) -> tuple[Place, int] | None:
    return press.held_as if press else None


def write_step(
    sheet: Sheet,
    steps: Table,
    was: Mapping[Press | None, Expression],
    now: Mapping[Press | None, Expression],
) -> None:
    def price(one: int | None, other: int | None) -> int:
        return 0 if one is None or other is None else steps[one][other]

    # A step is paid for from the note that ends to the note that begins, of the same voice or of another.
    pair_up(sheet, lumped(sheet, was, candidate_of), lumped(sheet, now, candidate_of), price)


def candidate_of(press: Press | None) -> int | None:
    return press.candidate if press else None


def write_finger_moves(sheet: Sheet, before: Moment, after: Moment) -> None:
    prices, share = sheet.world.prices, share_of_time(before.slice.seconds)
    worst = round(max(jump_price(1000, prices, sings=True, lifts=False), prices.finger_exchanged) * share)
    gap, shifts = sheet.model.new_int_var(0, worst, ""), write_shifts(sheet, before, after)

    def slides(finger: int, one: Tip | None, other: Tip | None) -> bool:
        return bool(one and other and one.place != other.place and is_slide(one.place, other.place, finger))

    def jump(finger: int, one: Tip | None, other: Tip | None) -> int:
        if not one or not other or one.place == other.place or is_slide(one.place, other.place, finger):
            return 0
        sings = one.sings or other.sings
        lifts = may_lift(before.slice, after.slice) and (strikes_chord(after.slice) or not sings)
        mm = distance_mm(one.place, other.place)
        return round(jump_price(mm, prices, sings=one.sings, lifts=lifts) * share)

    for finger in FINGERS:
        was, now = before.tips[finger], after.tips[finger]
        if set(was) == {None} or set(now) == {None}:
            continue
        pairs = pair_up(sheet, was, now, lambda _, __: 0)
        leads = sheet.model.new_bool_var("")
        # A finger whose note ends and which is needed along its string slides there, and leads the hand if it shifts …
        sheet.model.add(leads <= shifts)
        sheet.model.add(leads <= sum(both for pair, both in pairs.items() if slides(finger, *pair)))
        sheet.pay(round(prices.guide_finger * share), leads)
        # … and one that is needed on another string jumps: the gap is at least as wide as its jump.
        sheet.model.add(gap >= sum(jump(finger, one, other) * both for (one, other), both in pairs.items()))
    write_exchanges(sheet, before, after, gap)
    # All fingers that jump at one moment make one gap, the widest.
    sheet.pay(1, gap)


def write_exchanges(sheet: Sheet, before: Moment, after: Moment, gap: Expression) -> None:
    price = round(sheet.world.prices.finger_exchanged * share_of_time(before.slice.seconds))
    may_lift_here = may_lift(before.slice, after.slice)
    for finger, again in permutations(FINGERS, 2):
        for (one, left), (other, taken) in product(before.tips[finger].items(), after.tips[again].items()):
            if one is None or other is None or one.place != other.place:
                continue
            sings = one.sings or other.sings
            if not (may_lift_here and (strikes_chord(after.slice) or not sings)):
                # A finger that comes to the place of another makes a gap, too.
                sheet.model.add(gap >= price * (left + taken - 1))


def write_shifts(sheet: Sheet, before: Moment, after: Moment) -> Expression:
    """Whether the hand changes position: may be true only then."""
    shifts = sheet.model.new_bool_var("")
    was, now = (grouped(moment.stance, lambda stance: stance.position) for moment in (before, after))
    for position in was.keys() & now.keys():
        sheet.model.add(shifts <= 2 - was[position] - now[position])
    return shifts


def share_of_time(seconds: float) -> float:
    return min(max(0.35 / max(seconds, 1e-6), 0.25), 1.8)


def write_shift(sheet: Sheet, before: Moment, after: Moment) -> None:
    def price(one: Stance, other: Stance) -> int:
        return shift_price(one, other, before.slice.seconds, sheet.world)

    # The hand pays for its change of position.
    pair_up(sheet, before.stance, after.stance, price)


def shift_price(one: Stance, other: Stance, seconds: float, world: World) -> int:
    if one.position == other.position:
        return 0
    prices = world.prices
    in_the_air = one.is_free or other.is_free
    share = 0.5 if in_the_air else share_of_time(seconds)
    mm = abs(fret_distance_mm(one.position) - fret_distance_mm(other.position))
    price = round((prices.shift + mm / 100 * prices.shift_per_100_mm) * share)
    too_far = abs(one.position - other.position) > world.level.shift_frets and not in_the_air
    return price + (prices.shift_over_level if too_far else 0)


def write_laying(sheet: Sheet, before: Moment, after: Moment) -> None:
    def price(fret: int | None, barre: Barre | None) -> int:
        return laid_price(lowest_string(barre), sheet.world.prices) if barre and barre.fret != fret else 0

    # A barre is laid down where there was none at its fret.
    if set(before.barre) == {None}:
        for barre, laid in after.barre.items():
            sheet.pay(price(None, barre), laid)
    else:
        was = lumped(sheet, before.barre, lambda barre: barre.fret if barre else None)
        pair_up(sheet, was, after.barre, price)
    for voice, old, new in zip(after.slice.voices, before.voices, after.voices, strict=True):
        if voice.is_held:
            write_hinge(sheet, old, new, after)


def write_hinge(
    sheet: Sheet,
    was: Mapping[Press | None, Expression],
    now: Mapping[Press | None, Expression],
    after: Moment,
) -> None:
    tips = [chosen for press, chosen in was.items() if press and press.finger == 1 and not press.flat]
    flat = [chosen for press, chosen in now.items() if press and press.finger == 1 and press.flat]
    for barre, laid in after.barre.items():
        if barre and tips and flat:
            # A tip of finger 1 is laid flat while its note goes on.
            hinged = sheet.model.new_bool_var("")
            sheet.model.add(hinged <= sum(tips))
            sheet.model.add(hinged <= sum(flat))
            sheet.model.add(hinged <= laid)
            sheet.model.add(hinged >= sum(tips) + sum(flat) + laid - 2)
            sheet.pay(hinge_price(lowest_string(barre), sheet.world), hinged)
    was_flat = [chosen for press, chosen in was.items() if press and press.finger == 1 and press.flat]
    now_tips = [chosen for press, chosen in now.items() if press and press.finger == 1 and not press.flat]
    if was_flat and now_tips:
        # It was flat, and is lifted to the tip while its note goes on.
        lifted = sheet.model.new_bool_var("")
        sheet.model.add(lifted >= sum(was_flat) + sum(now_tips) - 1)
        sheet.pay(lift_price(sheet.world), lifted)


def lowest_string(barre: Barre) -> int:
    """Of a full barre and of a half one; which of several makes no difference."""
    return FULL_BARRE_STRING if barre.is_full else FULL_BARRE_STRING - 1


# Constraints over windows.


def write_windows(sheet: Sheet, moments: Iterable[Moment]) -> None:
    windows: list[list[Moment]] = []
    for moment in moments:
        if moment.slice.opens_window or not windows:
            windows.append([])
        windows[-1].append(moment)
    for window in windows:
        for bit, price in enumerate(window[-1].slice.wanted):
            # A want is met by some note of the window, or is paid for.
            owed = sheet.model.new_bool_var("")
            sheet.model.add_bool_or([owed, *notes_that_fill(window, bit)])
            sheet.pay(price, owed)


def notes_that_fill(window: Iterable[Moment], bit: int) -> list[Expression]:
    return [
        chosen
        for moment in window
        for voice, choice in zip(moment.slice.voices, moment.voices, strict=True)
        for press, chosen in choice.items()
        if press and voice.candidates[press.candidate].fills >> bit & 1
    ]


def write_alike(sheet: Sheet, comings: Sequence[Moment]) -> None:
    first, *others = comings
    for other in others:
        for one, again in zip(first.voices, other.voices, strict=True):
            ways_, same = grouped(one, place_and_finger), grouped(again, place_and_finger)
            # What comes again has the same places and fingers.
            for key in {*ways_, *same}:
                sheet.model.add(ways_.get(key, 0) == same.get(key, 0))


# Choices.


def choose(sheet: Sheet, keys: Iterable[Key]) -> dict[Key, Expression]:
    """A Boolean for each key, of which exactly one is true."""
    choice: dict[Key, Expression] = {key: sheet.model.new_bool_var("") for key in keys}
    sheet.model.add_exactly_one(choice.values())
    return choice


def presses(voices: Iterable[Mapping[Press | None, Expression]]) -> list[tuple[Press, Expression]]:
    return [(press, chosen) for choice in voices for press, chosen in choice.items() if press]


def grouped(choice: Mapping[Key, Expression], name: Callable[[Key], Other]) -> dict[Other, Expression]:
    """For each name the sum of the Booleans that bear it."""
    groups: dict[Other, list[Expression]] = defaultdict(list)
    for key, chosen in choice.items():
        groups[name(key)].append(chosen)
    return {group: sum(members) for group, members in groups.items()}


def lumped(
    sheet: Sheet, choice: Mapping[Key, Expression], name: Callable[[Key], Other]
) -> dict[Other, Expression]:
    """The same choice, less finely told."""
    groups = grouped(choice, name)
    lumps = choose(sheet, groups)
    for group, members in groups.items():
        sheet.model.add(lumps[group] == members)
    return lumps


def pair_up(
    sheet: Sheet,
    ones: Mapping[Key, Expression],
    others: Mapping[Other, Expression],
    price: Callable[[Key, Other], int | None],
) -> dict[tuple[Key, Other], Expression]:
    """Two choices pay ``price`` for what they choose together; None where that is impossible.

    A choice that can only be None pays with nobody, and is left out. The Booleans of the pairs
    are given back.
    """
    chosen: dict[tuple[Key, Other], Expression] = {}
    if set(ones) == {None} or set(others) == {None}:
        return chosen
    rows: dict[Key, list[Expression]] = {one: [] for one in ones}
    columns: dict[Other, list[Expression]] = {other: [] for other in others}
    for one in ones:
        for other in others:
            cost = price(one, other)
            if cost is not None:
                chosen[one, other] = both = sheet.model.new_bool_var("")
                rows[one].append(both)
                columns[other].append(both)
                sheet.pay(cost, both)
    # What is chosen is chosen in exactly one pair.
    for one, pairs in rows.items():
        sheet.model.add(ones[one] == sum(pairs))
    for other, pairs in columns.items():
        sheet.model.add(others[other] == sum(pairs))
    return chosen
