"""The piece heard at the desk, told as stories and done in a real browser.

What is put on the clock of Web Audio is written down as it happens, and measured against the cue sheet.
"""

from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from apoyando.sound import SAMPLE_RATE_HZ, room
from desk.working import await_step

LISTEN = """
window.heard = { plucks: [], clicks: [], voices: [], rooms: [], peak: 0, fetched: 0 };
const decode = AudioContext.prototype.decodeAudioData;
AudioContext.prototype.decodeAudioData = async function (data) {
  const buffer = await decode.call(this, data);
  heard.fetched += 1;
  return buffer;
};
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (this instanceof ConvolverNode) { heard.rooms.push(this); heard.roomLevel = to; }
  if (to instanceof DynamicsCompressorNode) heard.voices.push(this);
  if (to === this.context.destination) {
    const meter = new AnalyserNode(this.context, { fftSize: 2048 });
    const wave = new Float32Array(meter.fftSize);
    connect.call(this, meter);
    setInterval(() => {
      meter.getFloatTimeDomainData(wave);
      for (const value of wave) heard.peak = Math.max(heard.peak, Math.abs(value));
    }, 20);
  }
  return connect.call(this, to, ...more);
};
for (const [Source, name] of [[AudioBufferSourceNode, "plucks"], [OscillatorNode, "clicks"]]) {
  const { start, stop } = Source.prototype;
  Source.prototype.start = function (when) {
    this.told = { when, stop: null, seconds: this.buffer?.duration };
    heard[name].push(this.told);
    return start.call(this, when);
  };
  Source.prototype.stop = function (when = 0) { this.told.stop = when; return stop.call(this, when); };
}
"""


@pytest.fixture
def page(page: Page) -> Page:
    page.add_init_script(LISTEN)
    return page


@pytest.fixture
def drawn(song: Page) -> Page:
    expect(song.locator("#leaves .note[aria-label]").first).to_be_attached()
    song.get_by_text("Balance, room and count-in").click()
    return song


def sheet_of(page: Page) -> Any:
    """The cue sheet as the desk gives it."""
    return page.evaluate(
        """() => new Promise((done) => {
            const source = new EventSource(`/songs/${document.body.dataset.song}/hear`);
            source.addEventListener("answer", (event) => { source.close(); done(JSON.parse(event.data)); });
        })"""
    )


def heard(page: Page, what: str) -> Any:
    return page.evaluate(f"() => heard.{what}")


def await_plucks(page: Page, count: int) -> list[float]:
    """When the first notes begin, in seconds from the first of them."""
    page.wait_for_function("(count) => heard.plucks.length >= count", arg=count, timeout=60_000)
    begins = [pluck["when"] for pluck in heard(page, "plucks")][:count]
    return [begin - begins[0] for begin in begins]


def play(page: Page) -> None:
    page.get_by_role("button", name="Play", exact=True).click()
    expect(page.get_by_role("button", name="Stop", exact=True)).to_be_visible()


def test_it_is_played_as_the_cue_sheet_says_and_every_note_ends_when_its_finger_lifts(drawn: Page) -> None:
    sheet = sheet_of(drawn)
    drawn.get_by_label("Count in").uncheck()
    play(drawn)
    begins = await_plucks(drawn, 8)

    onsets = [note["onset_s"] for note in sheet["notes"][:8]]
    assert begins == pytest.approx([onset - onsets[0] for onset in onsets], abs=0.01)
    lengths = [pluck["stop"] - pluck["when"] for pluck in heard(drawn, "plucks")[1:8]]
    assert lengths == pytest.approx(
        [note["duration_s"] + sheet["stop_s"] for note in sheet["notes"][1:8]], abs=0.03
    )
    assert heard(drawn, "clicks") == []


def test_the_heads_are_lit_while_they_sound_and_nothing_is_loud(drawn: Page) -> None:
    play(drawn)
    lit = drawn.locator("#leaves .note.lit")
    expect(lit.first).to_be_attached()
    drawn.wait_for_function("() => heard.peak > 0.02")
    labels = [each.get_attribute("aria-label") or "" for each in lit.all()]
    assert all(label.startswith(("bar 0", "bar 1")) for label in labels)

    drawn.get_by_role("button", name="Stop").click()
    expect(lit).to_have_count(0)
    expect(drawn.get_by_role("button", name="Play", exact=True)).to_be_visible()
    assert heard(drawn, "peak") < 1.0


def test_it_plays_to_the_end_and_stops_by_itself(drawn: Page) -> None:
    drawn.get_by_label("Count in").uncheck()
    drawn.get_by_label("Tempo", exact=True).fill("120")
    play(drawn)
    expect(drawn.get_by_role("button", name="Play", exact=True)).to_be_visible()
    assert len(heard(drawn, "plucks")) == len(sheet_of(drawn)["notes"])


def test_it_is_played_from_the_note_that_was_touched(drawn: Page) -> None:
    drawn.get_by_label("Count in").uncheck()
    drawn.locator('#leaves .note[aria-label^="bar 5, beat 1: "][aria-label*=", tune,"]').press("Enter")
    drawn.get_by_role("button", name="Hear it from here").click()

    expect(drawn.locator('#leaves .note.lit[aria-label^="bar 5"]').first).to_be_attached()
    bar_5 = next(bar["onset_s"] for bar in sheet_of(drawn)["bars"] if bar["number"] == "5")
    onsets = [note["onset_s"] for note in sheet_of(drawn)["notes"] if note["onset_s"] >= bar_5 - 0.001]
    assert await_plucks(drawn, 4) == pytest.approx([onset - onsets[0] for onset in onsets[:4]], abs=0.01)


def test_before_a_pickup_a_bar_is_counted_and_the_beats_that_it_lacks(drawn: Page) -> None:
    """The tune begins with one beat of three: three beats are counted, and two more."""
    sheet = sheet_of(drawn)
    play(drawn)
    begin = await_plucks(drawn, 1) and heard(drawn, "plucks")[0]["when"]

    clicks = [click["when"] for click in heard(drawn, "clicks")]
    beat = sheet["beats"][1]["onset_s"] - sheet["beats"][0]["onset_s"]
    assert len(clicks) == 5
    assert [begin - click for click in clicks] == pytest.approx([n * beat for n in (5, 4, 3, 2, 1)], abs=0.03)


def test_the_tempo_is_changed_while_it_plays(drawn: Page) -> None:
    drawn.get_by_label("Count in").uncheck()
    play(drawn)
    await_plucks(drawn, 2)
    drawn.get_by_label("Tempo", exact=True).fill("50")
    expect(drawn.locator("#tempo-now")).to_have_text("50 %")
    drawn.evaluate("() => { heard.plucks = []; }")
    await_plucks(drawn, 6)

    when = [pluck["when"] for pluck in heard(drawn, "plucks")]
    onsets = [note["onset_s"] for note in sheet_of(drawn)["notes"]]
    steps = [round(later - earlier, 2) for earlier, later in pairwise(when[-3:])]
    halves = {round(2 * (later - earlier), 2) for earlier, later in pairwise(onsets)}
    assert all(min(abs(step - half) for half in halves) < 0.02 for step in steps)


def test_the_balance_is_moved_and_the_tune_is_heard_alone(drawn: Page) -> None:
    gains = "heard.voices.slice(0, 2).map((voice) => voice.gain.value)"
    play(drawn)
    assert drawn.evaluate(gains) == [1, 1]
    drawn.get_by_label("Tune over the rest").fill("12")
    drawn.wait_for_function(f"() => Math.abs({gains}[1] - 0.501) < 0.01")
    drawn.get_by_label("Tune over the rest").fill("0")
    drawn.wait_for_function(f"() => Math.abs({gains}[0] - 0.501) < 0.01 && {gains}[1] > 0.99")
    drawn.get_by_label("Tune alone").check()
    drawn.wait_for_function(f"() => {gains}[1] < 0.001")


def test_marked_bars_are_played_again_and_again(drawn: Page) -> None:
    drawn.get_by_label("Count in").uncheck()
    drawn.get_by_label("Tempo", exact=True).fill("120")
    for index in ("2", "3"):
        drawn.locator(f'#leaves .bar[data-index="{index}"]').first.click(
            position={"x": 3, "y": 3}, modifiers=["Shift"], force=True
        )
    expect(drawn.get_by_label("Loop bar")).to_be_checked()
    expect(drawn.locator("#leaves .tint.marked")).to_have_count(2)
    sheet = sheet_of(drawn)
    starts = [bar["onset_s"] for bar in sheet["bars"]]
    inside = [
        note["onset_s"] for note in sheet["notes"] if starts[2] - 0.001 <= note["onset_s"] < starts[4] - 0.001
    ]
    play(drawn)

    begins = await_plucks(drawn, len(inside) + 3)
    length = starts[4] - starts[2]
    expected = [onset - inside[0] for onset in inside] + [onset - inside[0] + length for onset in inside[:3]]
    assert begins == pytest.approx([each / 1.2 for each in expected], abs=0.02)


def test_another_page_is_heard_after_a_change(drawn: Page) -> None:
    play(drawn)
    drawn.get_by_label("Texture", exact=True).select_option(label="bare")
    await_step(drawn, 1, 1)
    expect(drawn.get_by_role("button", name="Play", exact=True)).to_be_visible()
    drawn.evaluate("() => { heard.plucks = []; }")
    drawn.get_by_label("Tempo", exact=True).fill("120")
    play(drawn)
    expect(drawn.get_by_role("button", name="Play", exact=True)).to_be_visible()
    assert len(heard(drawn, "plucks")) == len(sheet_of(drawn)["notes"])


def test_a_page_whose_notes_come_too_late_is_not_heard_in_place_of_the_next(drawn: Page) -> None:
    samples = set(sheet_of(drawn)["samples"].values())
    late: list[Route] = []

    def hold_back(route: Route) -> None:
        late.append(route)

    drawn.route("**/sound/room", hold_back)
    with drawn.expect_request("**/sound/room"):
        play(drawn)
    drawn.get_by_label("Texture", exact=True).select_option(label="bare")
    await_step(drawn, 1, 1)
    for route in late:
        route.continue_()
    drawn.wait_for_function("(count) => heard.fetched >= count", arg=len(samples))
    play(drawn)
    expect(drawn.get_by_role("button", name="Play", exact=True)).to_be_visible()
    assert len(heard(drawn, "plucks")) == len(sheet_of(drawn)["notes"])


def test_no_note_comes_from_anywhere_but_the_desk_and_each_comes_once(drawn: Page) -> None:
    asked: list[str] = []
    drawn.on("request", lambda request: asked.append(request.url))
    for _ in range(2):
        play(drawn)
        await_plucks(drawn, 1)
        drawn.get_by_role("button", name="Stop").click()

    sounds = [url for url in asked if "/sound/" in url]
    assert sounds
    assert len(sounds) == len(set(sounds))


def test_it_sounds_in_the_room_of_the_recorded_tracks_or_without_it(drawn: Page) -> None:
    """What the browser's convolver holds is what the desk's own room adds to a click."""
    play(drawn)
    drawn.wait_for_function("() => heard.rooms.length === 1 && heard.plucks.length > 0")
    held = drawn.evaluate(
        """() => {
            const { buffer, normalize } = heard.rooms[0];
            return [normalize, buffer.sampleRate, ...[0, 1].map((ear) => [...buffer.getChannelData(ear)])];
        }"""
    )
    added = room().copy()
    added[:, 0] -= 1.0
    assert held[:2] == [False, SAMPLE_RATE_HZ]
    assert held[2:] == added.astype("float32").tolist()

    assert drawn.evaluate("heard.roomLevel.gain.value") == 1
    drawn.get_by_label("In a room").uncheck()
    drawn.wait_for_function("() => heard.roomLevel.gain.value < 0.001")
    assert drawn.evaluate("heard.voices.slice(0, 2).map((voice) => voice.gain.value)") == [1, 1]
