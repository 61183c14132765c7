"""Pieces made up for looking at pages: each stresses something else. The music is nobody's."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import cycle, islice
from typing import Any

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.hand import Finger
from apoyando.model.instrument import DROP_D_TUNING, Place
from apoyando.model.pitch import Key
from apoyando.model.song import Bar, Barline, Jump, Lyric, Meter
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_harmonic,
    make_harmony,
    make_line,
    make_meter,
    make_span,
    small_arrangement,
)


def all_pieces() -> dict[str, Callable[[], Arrangement]]:
    return {
        "small": small_arrangement,
        "form": piece_with_form,
        "close": piece_of_close_voices,
        "held": piece_of_held_basses,
        "dense": piece_of_sixteenths,
        "compound": piece_in_six_eight,
        "chromatic": chromatic_piece,
        "high": piece_in_high_positions,
        "chords": piece_of_chords,
        "changes": piece_of_changing_meters,
        "absurd": absurd_piece,
        "words": piece_with_words,
        "harmonics": piece_on_harmonics,
        "groups": piece_in_groups,
        "empty": lambda: make_arrangement((), make_bars(2)),
        "one note": lambda: make_arrangement(make_line("melody", "E4:4")),
    }


def piece_with_form() -> Arrangement:
    """Pickup, repeats, endings, segno, coda, sections, key change, barres, fermata, triplets."""
    melody = make_line(
        "melody",
        "G3:1 C4:1/3 Eb4:1/3 G4:1/3 C5:1 Bb4:1/2 Ab4:1/2 G4:1 F4:3/4 G4:1/4 Ab4:1/4 G4:1/4 F#4:1/4 G4:1/4 "
        "Eb4:2 D4:2/3 Eb4:1/3 F4:1 B3:2 C4:4 Ab4:1 C5:3 Eb5:4 F#4:1 F4:1 E4:1 Eb4:1 D4:4 C4:8 r:2 C5:2 B4:4",
    )
    bass = make_line("bass", "r:1 C3:4 F2:2 C3:2 G2:4 C3:4 F2:4 C3:4 D3:4 G2:4 C3:8 Ab2:4 G2:4")
    inner = make_line(
        "inner",
        "r:1 " + "r:1/2 G3:1/2 Eb4:1/2 G3:1/2 " * 4 + "r:1/2 G3:1/2 F3:1/2 D3:1/2 r:1/2 G3:1/2 B3:1/2 G3:1/2 "
        "Eb3+G3:4 " + "r:1/2 Ab3:1/2 C4:1/2 Ab3:1/2 r:1 C4+Ab3:1 " * 4,
    )
    changes: dict[int, dict[str, Any]] = {
        1: {"starts_repeat": True, "section": "A", "jumps": (Jump.SEGNO,)},
        3: {"endings": (1,), "ending_stops": True, "repeat_times": 3},
        4: {"endings": (2,), "ending_stops": True, "barline": Barline.DOUBLE, "jumps": (Jump.TO_CODA,)},
        5: {"section": "B"},
        8: {"jumps": (Jump.DAL_SEGNO,), "jump_words": "D.S. al Coda", "barline": Barline.DOUBLE},
        9: {"jumps": (Jump.CODA,), "section": "Coda"},
        12: {"jumps": (Jump.FINE,)},
    }
    bars = make_bars(12, fifths=-3, pickup=1)
    for index, change in changes.items():
        bars = change_bar(bars, index, **change)
    bars = tuple(replace(bar, key=Key(2)) if bar.index >= 9 else bar for bar in bars)
    notes = [replace(n, has_fermata=n.onset == 43) for n in (*melody, *bass, *inner)]
    return make_arrangement(
        notes,
        bars,
        title="A Form with Everything in It",
        composer="Ana Ejemplo (1801–1875)",
        lyricist="Words by a Committee",
        rights="© Nobody. All rights released.",
        capo=2,
        tempo_words="Andante con moto",
        barres=(make_barre(1, 6, 5, 2), make_barre(3, 4, 9, 4), make_barre(1, 5, 15, 10)),
        harmony=make_harmony(
            "-:1 C.minor:4 F.minor-seventh:2 C.minor:2 G.dominant:4 C.minor:4 Ab.major-seventh/Eb:2 "
            "Bb.dominant-13th:2 C.minor:4 D.half-diminished:2 F#.diminished-seventh:2 G.dominant:4 C.minor:4 N.C.:4"
        ),
    )


def piece_of_close_voices() -> Arrangement:
    """Seconds, unisons and crossings of the inner voice with the melody."""
    melody = make_line("melody", "E4:1 D4:1 C4:1 D4:1 E4:1/2 D4:1/2 C4:1 B3:2 " * 4)
    inner = make_line("inner", "D4:1/2 E4:1/2 C4:1/2 B3:1/2 C4:1/2 A3:1/2 C4:1/2 E4:1/2 " * 8)
    bass = make_line("bass", "A2:2 E2:2 F2:4 " * 4)
    return make_arrangement((*melody, *inner, *bass), harmony=make_harmony("A.minor:2 E.dominant:2 F:4 " * 4))


def piece_of_held_basses() -> Arrangement:
    """An inner voice that runs close above a bass that is held and tied, at many heights."""
    melody = make_line("melody", "E4:3/2 F4:1/2 F4:1 E4:3/4 D#4:1/4 D4:1/2 D4:3/2 " * 10)
    inner = make_line(
        "inner", "r:1/2 F3:1/2 B3:1/2 A3:1/2 F3:1/2 B3:1/2 G3:1/4 D3:1/4 r:1/2 B3:1/2 r:1/2 " * 12
    )
    basses = ("B2", "A2", "G2", "F2", "E2", "F2", "A2", "B2", "E2", "G2", "A2", "E2")
    bass = make_line("bass", " ".join(f"{pitch}:3/2 {pitch}:7/2" for pitch in basses))
    return make_arrangement((*melody, *inner, *bass), make_bars(15))


def piece_of_sixteenths() -> Arrangement:
    melody = make_line("melody", "E4:1/4 G4:1/4 Bb4:1/4 C#5:1/4 E5:1/4 C#5:1/4 Bb4:1/4 G4:1/4 " * 16)
    inner = make_line("inner", "G3:1/2 C#4:1/2 Bb3:1/2 E3:1/2 " * 16)
    bass = make_line("bass", "A2:2 Bb2:1 A2:1 " * 8)
    return make_arrangement((*melody, *inner, *bass), make_bars(8, fifths=-1))


def piece_in_six_eight() -> Arrangement:
    melody = make_line("melody", "D4:1/2 " + "F#4:1 G4:1/2 A4:3/2 B4:1/2 A4:1/2 G4:1/2 F#4:3/2 " * 8)
    inner = make_line("inner", "r:1/2 " + "r:1/2 A3:1/2 D4:1/2 " * 32)
    bass = make_line("bass", "r:1/2 " + "D3:3/2 D3:3/2 A2:3/2 A2:3/2 " * 8)
    bars = make_bars(16, "6/8", fifths=2, pickup="1/2")
    return make_arrangement((*melody, *inner, *bass), bars, tuning=DROP_D_TUNING, tempo_words="Siciliana")


def chromatic_piece() -> Arrangement:
    """An accidental on nearly every note."""
    melody = make_line("melody", "E4:1/2 Eb4:1/2 D4:1/2 Db4:1/2 C4:1/2 C#4:1/2 D#4:1/2 E#4:1/2 " * 6)
    inner = make_line("inner", "r:1/2 G#3:1/2 G3:1/2 Gb3:1/2 F3:1/2 F#3:1/2 A#3:1/2 B#3:1/2 " * 6)
    bass = make_line("bass", "Bb2:1 B2:1 A#2:1 A2:1 " * 6)
    return make_arrangement(
        (*melody, *inner, *bass), make_bars(6, fifths=5), barres=(make_barre(1, 6, 3, 10),)
    )


def piece_in_high_positions() -> Arrangement:
    """Notes away from their lowest fret: many circled strings, barres over line ends."""
    plain = make_line("melody", "E4:1/2 G4:1/2 C5:1/2 B4:1/2 A4:1/2 E4:1/2 C4:1 " * 10)
    chords = make_line("inner", "r:1/2 C4+G3:1/2 r:1/2 A3+E4:1/2 r:1 G3:1 " * 10)
    notes = (*_up_a_string(plain), *_up_a_string(chords), *make_line("bass", "C3:2 A2:2 " * 10))
    barres = tuple(make_barre(5 + 2 * (n % 2), 6 - n % 3, 3 * n, 3) for n in range(13))
    return make_arrangement(notes, barres=barres, harmony=make_harmony("C:2 A.minor-seventh:2 " * 10))


def _up_a_string(notes: tuple[Note, ...]) -> Iterator[Note]:
    """Every other note on the next lower string, higher up."""
    for note, moves in zip(notes, cycle((True, True, False)), strict=False):
        places = [p for p in DROP_D_TUNING.places(note.pitch.midi) if p.string == note.place.string + 1]
        yield replace(note, place=places[0], finger=_finger(places[0])) if moves and places else note


def _finger(place: Place) -> Finger:
    return Finger((place.fret - 1) % 4 + 1)


def piece_of_chords() -> Arrangement:
    """Four notes at once, each with its digit."""
    melody = make_line("melody", "F4:1 G4:1 A4:1 F4:1 F#4:2 G#4:2 " * 5)
    inner = make_line("inner", "A3+C4:1 Bb3+D4:1 C4+F4:1 A3+C4:1 A3+D4:2 B3+D4:2 " * 5)
    bass = make_line("bass", "F2:1 G2:1 F2:1 F2:1 D3:2 E2:2 " * 5)
    return make_arrangement((*melody, *inner, *bass), make_bars(10, fifths=-1))


def absurd_piece() -> Arrangement:
    """Lengths nobody writes, barres of an eighth, words too long for their bars, signatures too large."""
    lengths = islice(cycle(["5/3", "1/5", "1/16", "7/2", "1/64", "2/7", "3/2", "1/3"]), 40)
    melody = make_line(
        "melody",
        " ".join(
            f"{pitch}:{x}" for pitch, x in zip(cycle(["E4", "Cb5", "F##4", "r"]), lengths, strict=False)
        ),
    )
    end = -int(-melody[-1].offset // 4)
    bass = make_line("bass", "E2:1/2 Ebb3:11/2 B#2:2/3 " * end)
    bars = make_bars(2 * end, fifths=-9)
    for bar in bars[::2]:
        bars = change_bar(
            bars,
            bar.index,
            section="A Name Too Long for Its Bar, by Far",
            jumps=tuple(Jump),
            jump_words="Play all of it again, then go",
            endings=(1, 3),
            ending_stops=bar.index % 4 == 0,
            repeat_times=7,
        )
    barres = tuple(make_barre(12 + n % 7, 2 + n % 5, Fraction(n, 2), Fraction(1, 2)) for n in range(16 * end))
    harmony = make_harmony("C##.diminished-seventh/Gbb:1/2 " * 16 * end)
    return make_arrangement((*melody, *bass), bars, barres=barres, harmony=harmony)


def piece_of_changing_meters() -> Arrangement:
    meters = [Meter(4, 4), Meter(3, 4), Meter(5, 8), Meter(6, 8), Meter(2, 2, "cut"), Meter(7, 8)]
    bars: list[Bar] = []
    onset = Fraction(0)
    for index, meter in enumerate(islice(cycle(meters), 12)):
        bar = make_bars(1)[0]
        span = replace(bar.span, onset=onset, offset=onset + meter.bar_length)
        bars.append(
            replace(
                bar,
                index=index,
                number=str(index + 1),
                barline=Barline.REGULAR,
                meter=meter,
                span=span,
                key=Key(index % 5 - 2),
            )
        )
        onset = span.offset
    melody = make_line("melody", "E4:1/2 " * int(onset * 2))
    bass = [note for bar in bars for note in make_line("bass", f"C3:{bar.span.duration}", bar.onset)]
    return make_arrangement((*melody, *bass), bars)


def piece_with_words() -> Arrangement:
    """Two verses, long words over short notes, held syllables, dynamics."""
    texts = cycle(("strengths", "and", "through", "ly", "straight", "I", "for"))
    melody = [
        replace(note, lyrics=_two_verses(text, index))
        for index, (note, text) in enumerate(
            zip(make_line("melody", "E4:1/2 G4:1/2 C5:1 " * 12), texts, strict=False)
        )
    ]
    bass = make_line("bass", "C3:2 E2:2 " * 6)
    dynamics = (
        Dynamic(Fraction(0), Loudness.MF, Layer.MELODY),
        Dynamic(Fraction(0), Loudness.P, Layer.ACCOMPANIMENT),
        Dynamic(Fraction(13), Loudness.FF),
    )
    return make_arrangement(
        (*melody, *bass), dynamics=dynamics, harmony=make_harmony("C:2 A.minor-seventh:2 " * 6)
    )


def _two_verses(text: str, index: int) -> tuple[Lyric, ...]:
    syllabic = ("begin", "end", "single")[index % 3]
    return (
        () if index % 5 == 4 else tuple(Lyric(verse, text, syllabic, is_held=verse == 1) for verse in (1, 2))
    )


def piece_on_harmonics() -> Arrangement:
    """Flat touches at two frets, over an open bass and among stopped notes, shorter and longer values."""
    notes = (
        *make_line("melody", "F#4:1 E4:1/2 D4:1/2 E4:1 F#4:1"),
        *make_line("bass", "D3:2 A2:2"),
        make_harmonic("melody", 4, 1, "D5", 3, 7),
        make_harmonic("inner", 4, 1, "A4", 4, 7),
        *make_line("bass", "A2:2", 4),
        make_harmonic("melody", 5, 1, "D4", 4, 12, 4),
        make_harmonic("melody", 6, 2, "D5", 4, 5, 2),
        make_harmonic("inner", 6, 2, "A4", 5, 5, 2),
        *make_line("bass", "E2:2", 6),
    )
    return make_arrangement(notes, harmony=make_harmony("D:8"))


def piece_in_groups() -> Arrangement:
    """Meters that the source divides, changing."""
    bars = [
        replace(bar, meter=make_meter(text), span=make_span(onset, make_meter(text).bar_length))
        for bar, text, onset in zip(
            make_bars(3), ("2+3/8", "3+2+2/8", "2+3/4"), ("0", "5/2", "6"), strict=True
        )
    ]
    melody = make_line("melody", "E4:1/2 " * 22)
    bass = [note for bar in bars for note in make_line("bass", f"C3:{bar.span.duration}", bar.onset)]
    return make_arrangement((*melody, *bass), bars)
