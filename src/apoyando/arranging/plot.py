"""Who may sound when: the melody, and the candidates of every bass and inner note that is due."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.keys import register_price
from apoyando.arranging.peaks import find_peaks, price_under_peaks
from apoyando.arranging.room import leave_room
from apoyando.arranging.setting import Setting
from apoyando.arranging.texture import BassDue, InnerDue, Lasting, Window
from apoyando.arranging.voice_leading import falls_by_fifth, is_wanted_bass
from apoyando.arranging.voices import bass_candidates, inner_candidates, telling_bits
from apoyando.fingering import Candidate
from apoyando.model.arrangement import Role
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote
from apoyando.model.time import Moments, Quarters, Span


@dataclass(frozen=True, slots=True)
class Plot:
    """Who may sound when: for each role the entries in order, and the windows.

    ``sung`` has the candidates of each melody note: all of its one pitch. Inner notes of
    several lines stand in one row. ``peaks`` are the spans of melody notes that the level
    lets pass over open strings.
    """

    melody: tuple[MelodyNote, ...]
    sung: tuple[tuple[Candidate, ...], ...]
    bass: tuple[tuple[BassDue, tuple[Candidate, ...]], ...]
    inner: tuple[tuple[InnerDue, tuple[Candidate, ...]], ...]
    windows: tuple[Window, ...]
    peaks: frozenset[Span] = frozenset()

    @property
    def roles(self) -> tuple[Role, ...]:
        """The role of each voice of a slice; there is one inner line at least."""
        lines = max((due.line for due, _ in self.inner), default=0) + 1
        return (Role.MELODY, Role.BASS, *(Role.INNER,) * lines)


def plot_voices(melody: Sequence[MelodyNote], windows: Sequence[Window], setting: Setting) -> Plot:
    """Candidates for every bass and inner note that is due; what has none is left out."""
    floor = MelodyFloor(melody)
    peaks = find_peaks(melody, setting.tuning, setting.level)
    windows = [leave_room(window, floor.under, setting.tuning, peaks) for window in windows]

    def above(due: BassDue | InnerDue, candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
        return price_under_peaks(candidates, due.span, peaks, setting.tuning, setting.prices)

    bass = [
        (shortened, above(shortened, candidates))
        for window in windows
        for due in window.bass
        for shortened, candidates in [_plot_bass(due, floor, setting)]
        if candidates
    ]
    inner = [
        (shortened, above(shortened, candidates))
        for window in windows
        for due in window.inner
        for shortened, candidates in [_plot_inner(due, window, floor, setting)]
        if candidates
    ]
    sung = tuple((_plot_melody(note, setting),) for note in melody)
    _close(bass, setting.prices)
    return Plot(tuple(melody), sung, tuple(bass), tuple(inner), tuple(windows), peaks)


def _close(bass: list[tuple[BassDue, tuple[Candidate, ...]]], prices: Prices) -> None:
    """The piece ends on the bass that its last chord asks for, and comes there from that of its dominant."""
    entries = [index for index, (due, _) in enumerate(bass) if due.is_first]
    if not entries:
        return
    end = bass[entries[-1]][0].chord
    bass[entries[-1]] = _on_its_own(*bass[entries[-1]], prices.bass_inverted_at_end)
    before = next((index for index in reversed(entries) if not bass[index][0].chord.is_same_as(end)), None)
    if before is not None and falls_by_fifth(bass[before][0].chord, end):
        bass[before] = _on_its_own(*bass[before], prices.bass_inverted_at_cadence)


def _on_its_own(
    due: BassDue, candidates: tuple[Candidate, ...], price: int
) -> tuple[BassDue, tuple[Candidate, ...]]:
    """Any other bass than the one that the chord asks for costs so much more."""
    return due, tuple(
        candidate
        if is_wanted_bass(due.chord, candidate.note)
        else replace(candidate, price=candidate.price + price)
        for candidate in candidates
    )


def _plot_melody(note: MelodyNote, setting: Setting) -> Candidate:
    """Within the level's frets, or as low as it can be had where no string has it there.

    That is string 1 for a high note; in drop D it may be the sixth, seven frets below the fifth.
    """
    midi = note.pitch.midi
    lowest = min((place.fret for place in setting.tuning.places(midi)), default=0)
    return Candidate(
        midi,
        register_price(midi, note.duration, setting.prices),
        highest_fret=max(setting.level.melody_highest_fret, lowest),
    )


def melody_floor(plot: Plot, span: Span) -> int:
    """The MIDI note below which the accompaniment stays for a span."""
    return MelodyFloor(plot.melody).under(span)


class MelodyFloor:
    """The lowest melody note over a span of time."""

    def __init__(self, melody: Sequence[MelodyNote]) -> None:
        self._melody = melody
        self._onsets = Moments([note.onset for note in melody])
        self._offsets = Moments([note.offset for note in melody])

    def sounding(self, span: Span) -> Sequence[MelodyNote]:
        return self._melody[self._offsets.count_until(span.onset) : self._onsets.count_before(span.offset)]

    def under(self, span: Span) -> int:
        """Accompaniment stays below this MIDI note; in a rest, below the notes around it."""
        sounding = self.sounding(span) or self._around(span)
        return min((note.pitch.midi for note in sounding), default=72)

    def shortened(self, span: Span) -> Iterator[Span]:
        """The span, and then shorter and shorter ones that end where a melody note begins."""
        yield span
        for note in reversed(self.sounding(span)):
            if note.onset > span.onset:
                yield Span(span.onset, note.onset)

    def _around(self, span: Span) -> Sequence[MelodyNote]:
        following = self._onsets.count_before(span.onset)
        return self._melody[max(following - 1, 0) : following + 1]


def _plot_bass(due: BassDue, floor: MelodyFloor, setting: Setting) -> tuple[BassDue, tuple[Candidate, ...]]:
    """A bass stays under the melody for its whole span; if none can, its span ends sooner."""
    for span in floor.shortened(due.span):
        candidates = bass_candidates(
            due.chord,
            below=floor.under(span),
            is_first=due.is_first,
            lowest=min(setting.tuning.open_strings),
            highest_fret=setting.level.accompaniment_highest_fret,
            prices=setting.prices,
        )
        if candidates:
            return replace(due, span=span), candidates
    return due, ()


def _plot_inner(
    due: InnerDue, window: Window, floor: MelodyFloor, setting: Setting
) -> tuple[InnerDue, tuple[Candidate, ...]]:
    """An inner note stays under the melody for its whole span; what may be let go may end sooner."""
    wants = frozenset(open_wants(window, floor.sounding(window.span)).items())
    for span in floor.shortened(due.span):
        candidates = inner_candidates(
            due.chord,
            below=floor.under(span),
            wants=wants,
            highest_fret=setting.level.accompaniment_highest_fret,
            prices=setting.prices,
        )
        if candidates and _may_end(due, span.offset):
            return replace(due, span=span), candidates
    return due, ()


def _may_end(due: InnerDue, moment: Quarters) -> bool:
    if moment == due.span.offset or due.lasting is Lasting.LET_GO:
        return True
    return due.written_until is not None and moment >= due.written_until


def open_wants(window: Window, melody: Iterable[MelodyNote]) -> dict[int, int]:
    """The telling tones that the melody does not sound itself: pitch class to bit."""
    sung = {note.pitch.name.pitch_class for note in melody}
    return {tone: bit for tone, bit in telling_bits(window.chord).items() if tone not in sung}
