"""The key and the pickup of a song as the player would have them: names and barlines, and no sound."""

from dataclasses import replace

from apoyando.model.errors import UsageError
from apoyando.model.harmony import HarmonySpan
from apoyando.model.note_values import name_value
from apoyando.model.pitch import Key, Pitch, PitchName
from apoyando.model.song import Bar, ReadingRemark, Song, bar_at
from apoyando.model.time import Quarters, Span, Spanned
from apoyando.reading.assembly import order_remarks
from apoyando.reading.bar_lengths import describe_length, settle_bar_lengths

_FARTHEST_FLAT, _FARTHEST_SHARP = -6, 10
"""Names on the line of fifths that a key still has, from its signature: in C from G flat to A sharp."""
_ENHARMONIC = 12


def change_written_key(song: Song, key: Key | None) -> Song:
    """The song in another key signature, as far as its first one goes; it sounds as before.

    Notes and chords whose names the key does not have are called by their other names.
    """
    if key is None:
        return song
    first = song.key
    bars = tuple(replace(bar, key=key) if bar.key == first else bar for bar in song.bars)
    melody = tuple(
        replace(note, pitch=_respell(note.pitch, bar_at(bars, note.onset).key)) for note in song.melody
    )
    harmony = tuple(_respell_chord(span, bar_at(bars, span.onset).key) for span in song.harmony)
    return replace(song, bars=bars, melody=melody, harmony=harmony)


def _respell(pitch: Pitch, key: Key) -> Pitch:
    fifths = _steps_to_key(pitch.name, key)
    return Pitch.at(pitch.name.transposed(fifths), pitch.midi) if fifths else pitch


def _respell_chord(span: HarmonySpan, key: Key) -> HarmonySpan:
    fifths = _steps_to_key(span.chord.root, key) if span.chord else 0
    return replace(span, chord=span.chord.transposed(fifths)) if span.chord and fifths else span


def _steps_to_key(name: PitchName, key: Key) -> int:
    place = name.fifths - key.fifths
    if place > _FARTHEST_SHARP:
        return -_ENHARMONIC
    return _ENHARMONIC if place < _FARTHEST_FLAT else 0


def change_pickup(song: Song, pickup: Quarters | None) -> Song:
    """The song with so much before its first full bar.

    Where only silence stands too much at the beginning, it is cut off; else all barlines move,
    with the signs of the form that stand at them, and the notes stay. Raises UsageError for a
    pickup that is no shorter than a bar.
    """
    if pickup is None:
        return song
    whole = song.bars[0].meter.bar_length
    if pickup >= whole:
        raise UsageError(
            f"the pickup, a {name_value(pickup)}, is no shorter than a bar of {song.bars[0].meter}. "
            'Write a shorter one, or "none".'
        )
    earlier = song.bars[0].duration - (pickup or whole)
    if not earlier:
        return song
    if 0 < earlier <= song.melody[0].onset:
        return _count_anew(song, _cut_silence(song, earlier))
    return _count_anew(song, replace(song, bars=_move_barlines(song.bars, earlier)))


def _cut_silence(song: Song, length: Quarters) -> Song:
    bars = tuple(
        replace(bar, span=Span(max(bar.onset - length, Quarters(0)), bar.offset - length))
        for bar in song.bars
    )
    melody = tuple(replace(note, span=_earlier(note, length)) for note in song.melody)
    harmony = tuple(
        replace(span, span=_earlier(span, length)) for span in song.harmony if span.offset > length
    )
    return replace(song, bars=bars, melody=melody, harmony=harmony)


def _earlier(spanned: Spanned, length: Quarters) -> Span:
    return Span(max(spanned.onset - length, Quarters(0)), spanned.offset - length)


def _move_barlines(bars: tuple[Bar, ...], earlier: Quarters) -> tuple[Bar, ...]:
    """All barlines but the first and the last moved; the last bar takes up the rest, or gives it."""
    end = bars[-1].offset
    ends = [min(bar.offset - earlier, end) for bar in bars[:-1]]
    starts = [Quarters(0), *ends]
    moved = [
        replace(bar, span=Span(start, stop))
        for bar, start, stop in zip(bars, starts, [*ends, end], strict=True)
        if start < stop
    ]
    if len(moved) < len(bars):
        moved[-1] = replace(moved[-1], **_signs_at_end(bars[-1]))  # type: ignore[arg-type] # fields of a bar
    elif moved[-1].duration > moved[-1].meter.bar_length and earlier > 0:
        moved[-1:] = _split(moved[-1])
    return tuple(moved)


def _split(last: Bar) -> tuple[Bar, Bar]:
    """A full bar, and another one with what is left; what stands at the end goes there."""
    middle = last.onset + last.meter.bar_length
    plain = Bar(index=last.index, number="", span=last.span, meter=last.meter, key=last.key)
    full = replace(last, span=Span(last.onset, middle), **_signs_at_end(plain))  # type: ignore[arg-type] # fields of a bar
    rest = replace(
        last, index=last.index + 1, span=Span(middle, last.offset), starts_repeat=False, section=""
    )
    return full, rest


def _signs_at_end(bar: Bar) -> dict[str, object]:
    return {
        "repeat_times": bar.repeat_times,
        "repeats_after_jump": bar.repeats_after_jump,
        "ending_stops": bar.ending_stops,
        "barline": bar.barline,
        "jumps": bar.jumps,
        "jump_words": bar.jump_words,
    }


def _count_anew(before: Song, after: Song) -> Song:
    """Bars numbered from the pickup on, and the remarks with them; those on lengths are made anew."""
    unmarked = tuple(replace(bar, number="", is_pickup=False) for bar in after.bars)
    bars, lengths = settle_bar_lengths(unmarked)
    shift = before.melody[0].onset - after.melody[0].onset
    moments = {bar.number: max(bar.onset - shift, Quarters(0)) for bar in reversed(before.bars)}
    odd = {(bar.number, describe_length(bar)) for bar in before.bars}
    kept = [
        ReadingRemark(bar_at(bars, moments[each.bar]).number if each.bar in moments else each.bar, each.text)
        for each in before.remarks
        if (each.bar, each.text) not in odd
    ]
    return replace(after, bars=bars, remarks=order_remarks((*kept, *lengths), bars))
