// Hear it: the player's controls, and the heads that are lit while they sound.
import { elementsOf, findNote, floorPx, focusedNote, listBars, roofPx, song, boxesOf } from "/static/page.js";
import { Player } from "/static/player.js";
import { listen, part } from "/static/talk.js";

const player = new Player();
const stage = (text) => { part("hear-stage").textContent = text; };
let sheet = null; // the cue sheet of the page as it is now
let pages = 0; // drawn so far
let lit = new Set();
let frame = 0;
let asked = 0;
let lastNote = null;

/** The cue sheet of the page, with its samples; nothing where another page is drawn meanwhile. */
async function fetchSheet() {
  if (sheet) return;
  const page = pages;
  const fresh = await new Promise((done, fail) => {
    const no = ({ html }) => { part("refused").innerHTML = html; fail(new Error("It cannot be played as it is.")); };
    listen(`${song}/hear`, { stage: (text) => stage(`${text} …`), answer: done, refused: no, stopped: () => fail(new Error("")) });
  });
  if (page !== pages) return;
  await player.load(fresh, (there, of) => { if (page === pages) stage(`plucking note ${there} of ${of} …`); });
  if (page === pages) sheet = fresh;
}

/** Play from a place that is found once the cue sheet is there. */
async function play(find) {
  halt();
  const mine = ++asked;
  player.open(); // here, where a hand has asked for it: browsers want that
  part("play").textContent = "Stop";
  document.body.classList.add("is-playing");
  try {
    await fetchSheet();
    if (mine !== asked) return;
    setLoop();
    const from = player.loop?.from ?? find();
    await player.play(from, part("count-in").checked ? countIn(from) : undefined);
    stage("");
    follow();
  } catch (error) {
    if (mine === asked) { halt(); stage(error.message); }
  }
}

function halt() {
  asked += 1;
  player.stop();
  cancelAnimationFrame(frame);
  light(new Set());
  part("play").textContent = "Play";
  document.body.classList.remove("is-playing");
  stage("");
}
player.ended = halt;

/** Where a note, or a bar by its index, is first played. */
const placeOfNote = (note) => sheet.notes.find((each) => each.note === note)?.onset_s ?? 0;
const placeOfBar = (index) => sheet.bars.find((bar) => bar.index === index)?.onset_s ?? 0;

/** One bar is counted before; within a bar, or before a pickup, also the beats that come before in it. */
function countIn(from) {
  const { beats } = sheet;
  const firsts = beats.flatMap((beat, index) => (beat.is_first ? [index] : []));
  const perBar = firsts.length > 1 ? firsts[1] - firsts[0] : Math.max(beats.length, 1);
  const now = beats.findLastIndex((beat) => beat.onset_s <= from + 0.02);
  const length = (beats[now + 1]?.onset_s ?? sheet.duration_s) - (beats[now]?.onset_s ?? 0);
  const barline = firsts.findLast((index) => index <= now);
  const before = barline === undefined ? Math.max(0, perBar - (firsts[0] ?? 0)) + Math.max(now, 0) : now - barline;
  return { beats: perBar + before, length, firsts: [0, perBar] };
}

// The loop

function setLoop() {
  markLoop();
  if (!part("loop").checked || !sheet) { player.setLoop(null); return; }
  const bars = sheet.bars;
  const start = bars.findIndex((bar) => bar.index === Number(part("loop-from").value));
  const last = bars.findIndex((bar, index) => index >= start && bar.index === Number(part("loop-to").value));
  const end = bars[(last < 0 ? start : last) + 1]?.onset_s ?? sheet.duration_s;
  player.setLoop(start < 0 ? null : { from: bars[start].onset_s, to: end });
}

function markLoop() {
  document.querySelectorAll(".tint.marked").forEach((box) => box.classList.remove("marked"));
  if (!part("loop").checked) return;
  const [from, to] = ["loop-from", "loop-to"].map((id) => Number(part(id).value));
  for (const bar of listBars()) {
    if (from <= bar.index && bar.index <= to) boxesOf(bar.number).forEach((box) => box.classList.add("marked"));
  }
}

function fillLoop() {
  for (const [id, last] of [["loop-from", false], ["loop-to", true]]) {
    const before = part(id).value;
    part(id).replaceChildren(...listBars().map((bar) => new Option(bar.number, bar.index)));
    part(id).value = before && listBars()[before] ? before : String(last ? Math.min(3, listBars().length - 1) : 0);
  }
  markLoop();
}

/** Bars marked on the page: the first time one, then from it to another. */
function mark(number, end) {
  const index = listBars().findIndex((bar) => bar.number === number);
  if (index < 0) return;
  const [from, to] = [part("loop-from"), part("loop-to")];
  const isFresh = !part("loop").checked;
  part("loop").checked = true;
  if (end === "from" || isFresh || (!end && index < Number(from.value))) from.value = index;
  if (end === "to" || isFresh || (!end && index > Number(to.value))) to.value = index;
  if (Number(to.value) < Number(from.value)) [from.value, to.value] = [index, index];
  setLoop();
}

// What is seen while it sounds

function follow() {
  cancelAnimationFrame(frame);
  const { place } = player;
  if (!player.isPlaying) return;
  const sounding = place === null ? [] : sheet.notes.filter((note) => note.onset_s <= place && place < note.onset_s + note.duration_s);
  light(new Set(sounding.map((note) => note.note)));
  frame = requestAnimationFrame(follow);
}

function light(now) {
  for (const note of lit) if (!now.has(note)) elementsOf(note).forEach((element) => element.classList.remove("lit"));
  for (const note of now) {
    if (lit.has(note)) continue;
    const [first, ...others] = elementsOf(note);
    [first, ...others].forEach((element) => element?.classList.add("lit"));
    keepInView(first);
  }
  lit = now;
}

/** The page goes along with the music, a system at a time. */
function keepInView(element) {
  const system = element?.closest(".system");
  if (!system) return;
  const { top, bottom } = system.getBoundingClientRect();
  const [roof, floor] = [roofPx(), floorPx()];
  if (top < roof || bottom > floor) window.scrollBy(0, (top + bottom - roof - floor) / 2);
}

// Controls

const isPlaying = () => part("play").textContent === "Stop";
part("play").addEventListener("click", () => {
  if (isPlaying()) halt();
  else play(() => (lastNote ? placeOfNote(lastNote.note) : 0));
});

/** The note that was touched last is where it is played from. */
function startAt(note) {
  lastNote = note;
  part("hear-from").textContent = note ? `from ${note.label.split(":")[0]}` : "from the beginning";
  part("from-beginning").hidden = !note;
}
for (const id of ["leaves", "redrawn"]) part(id).addEventListener("focusin", () => startAt(focusedNote() ?? lastNote));
part("from-beginning").addEventListener("click", () => { startAt(null); part("play").focus(); });
part("tempo").addEventListener("input", ({ target }) => {
  part("tempo-now").textContent = `${target.value} %`;
  player.setSpeed(Number(target.value) / 100);
});

/** The cue sheet has the tune 6 dB over the rest; what is asked beyond goes half up and half down. */
function balance() {
  const beyond = Number(part("lead").value) - 6;
  part("lead-now").textContent = `${part("lead").value} dB`;
  player.setGain("melody", 10 ** (Math.min(beyond, 0) / 20));
  player.setGain("accompaniment", part("alone").checked ? 0 : 10 ** (-Math.max(beyond, 0) / 20));
}
part("lead").addEventListener("input", balance);
part("room").addEventListener("change", ({ target }) => player.setRoom(target.checked));
part("alone").addEventListener("change", balance);
for (const id of ["loop", "loop-from", "loop-to"]) part(id).addEventListener("change", setLoop);

part("touched").addEventListener("click", ({ target }) => {
  const { hear, hearBar, mark: end } = target.closest("button")?.dataset ?? {};
  if (end) mark(part("bar-form").dataset.bar, end);
  if (hear !== undefined) play(() => placeOfNote(Number(hear)));
  if (hearBar !== undefined) play(() => placeOfBar(Number(hearBar)));
});
document.addEventListener("page:mark", ({ detail }) => mark(detail));
document.addEventListener("page:drawn", () => { halt(); sheet = null; pages += 1; });
document.addEventListener("page:ready", () => { fillLoop(); if (lastNote) startAt(findNote(lastNote) ?? null); });
if (listBars().length) fillLoop();
balance();
player.setRoom(part("room").checked);
