"""Signatures that look wrong by one sharp or flat are told, and nothing is changed."""

import pytest

from apoyando.model.song import Song
from apoyando.reading import read_plan, read_planned_song

HEAD = "X:1\nT:Hedge\nM:4/4\nL:1/4\nK:{key}\n"
IN_F = '"F"F A c A | "Bb"_B2 A2 | "C7"G2 E2 | "F"F4 |]'
IN_G = '"G"G B d B | "Em"E2 ^F2 | "D7"A2 ^F2 | "G"G4 |]'


def read(body: str, key: str = "C", plan: str = "") -> Song:
    data = (HEAD.format(key=key) + body + "\n").encode()
    return read_planned_song(data, "hedge.abc", read_plan(plan, "hedge.plan.toml"))


def remarks(song: Song) -> list[str]:
    return [remark.text for remark in song.remarks]


@pytest.mark.parametrize(("body", "tone", "key"), [(IN_F, "Bb", "F major"), (IN_G, "F#", "G major")])
def test_a_tune_without_its_flat_or_sharp_is_told_with_what_puts_it_right(
    body: str, tone: str, key: str
) -> None:
    song = read(body)

    (told,) = remarks(song)
    assert told == (
        f"The signature is that of C major, but the song begins and ends on the chord of {key[0]}, and {tone} "
        f'is sung: if it is in {key}, write it into the plan: written_key = "{key}".'
    )
    assert str(song.key) == "C major"
    assert remarks(read(body, plan=f'written_key = "{key}"')) == []


@pytest.mark.parametrize(
    ("body", "key"),
    [
        (IN_F, "F"),
        (IN_G, "G"),
        ('"A"A c e c | "G"B2 =G2 | "A"A4 |]', "D"),  # A Mixolydian, whose seventh is low
        ('"F"F A c A | "G7"B2 B2 | "C"c2 _B2 | "F"F4 |]', "C"),  # B oftener than B flat
        ('"F"F A c A | "C"G2 E2 | "F"F4 |]', "C"),  # neither B nor B flat
        ('"F"F A c A | "Bb"_B2 A2 | "C"c4 |]', "C"),  # ends elsewhere
        ('"C"C E G E | "Bb"_B2 A2 | "F"F4 |]', "C"),  # begins elsewhere
        ('"F7"F A c A | "Bb"_B2 A2 | "F7"F4 |]', "C"),  # blues in C, or B flat
        ('"G#"G B d B | "G#"^^F2 G2 |]', "C#"),  # G sharp major has no signature
        ('"Fb"F A c A | "Fb"__B2 A2 |]', "Cb"),
        ('"F"F A c A | [K:G] "Bb"_B2 A2 | "F"F4 |]', "C"),
        ('"F"F A c A | "Bb"_B2 A2 | "F"F4 |]', "A minor"),
    ],
)
def test_what_may_be_meant_so_is_not_remarked_on(body: str, key: str) -> None:
    assert remarks(read(body, key)) == []


def test_the_last_chord_is_that_of_the_bar_that_is_played_last() -> None:
    fine = '"F"F A c A | "Bb"_B2 A2 | "F"F4 !fine!| "C"G2 E2 | "C"c4 !D.C.!|]'

    assert "The signature is that of C major" in remarks(read(fine))[0]
