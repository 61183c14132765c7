// The drawn page as something to point at: its notes and bars found, named, lit, and reached with the keyboard.
import { ask, part } from "/static/talk.js";

export const song = `/songs/${document.body.dataset.song}`;
const SVG = "http://www.w3.org/2000/svg";
const NEAR_PX = 14; // of the middle of a head: so that 24 pixels of each can be hit
let notes = [];
let bars = [];
let elements = new Map(); // a note's groups, by its place among the notes of the piece
let ofElement = new Map(); // and back
let asked = 0;

export const listBars = () => bars;
export const elementsOf = (place) => elements.get(place) ?? [];
export const noteAt = (place) => notes.find((note) => note.note === place);
export const findNote = ({ bar, beat, voice, string }) => {
  const there = notes.filter((note) => note.bar === bar && note.beat === beat && note.voice === voice);
  return there.find((note) => note.string === Number(string)) ?? there[0];
};
export const firstIn = (number) => notes.find((note) => note.bar === number);
export const shownLeaves = () => (part("redrawn")?.hidden === false ? part("redrawn") : part("leaves"));
const barBoxes = (index) => shownLeaves().querySelectorAll(`.tint[data-index="${index}"]`);
export const boxesOf = (number) => bars.filter((bar) => bar.number === number).flatMap((bar) => [...barBoxes(bar.index)]);

/** Ask what lies on the page that is shown, and make it reachable. Tells "page:ready". */
export async function takeIn() {
  const mine = ++asked;
  const { isGood, text } = await ask(`${song}/paper`);
  if (!isGood || mine !== asked || document.body.classList.contains("is-stale")) return;
  const paper = JSON.parse(text);
  notes = paper.notes;
  bars = paper.bars;
  prepare(shownLeaves());
  document.dispatchEvent(new Event("page:ready"));
}

/** Notes become buttons, one of them in the order of Tab; bars get a box to point at. */
export function prepare(leaves) {
  elements = new Map();
  ofElement = new Map();
  for (const leaf of leaves.querySelectorAll(".leaf")) {
    if (leaf.getAttribute("role") === "img") {
      leaf.setAttribute("role", "group");
      leaf.setAttribute("aria-label", `${leaf.getAttribute("aria-label")}. Arrows go from note to note, Enter opens one.`);
    }
  }
  for (const system of leaves.querySelectorAll(".system")) addBars(system);
  for (const note of notes) nameNote(note, leaves);
  const first = elements.get(notes[0]?.note)?.[0];
  first?.setAttribute("tabindex", "0");
}

function addBars(system) {
  system.querySelectorAll(".bar, .tint").forEach((box) => box.remove());
  const { y, height } = system.getBBox();
  for (const bar of (system.dataset.bars ?? "").split(" ").filter(Boolean)) {
    const [index, left, right] = bar.split(":").map(Number);
    const place = { "data-index": index, x: left, y, width: right - left, height };
    system.prepend(makeBox({ class: "bar", ...place }));
    system.append(makeBox({ class: "tint", ...place }));
  }
}

function makeBox(attributes) {
  const box = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries(attributes)) box.setAttribute(name, value);
  return box;
}

function nameNote(note, leaves) {
  const found = note.heads.map((id) => leaves.querySelector(`[id="${id}"]`)).filter(Boolean);
  elements.set(note.note, found);
  found.forEach((element, index) => {
    ofElement.set(element, note);
    if (index) return; // what is tied on is reached from where it is struck
    element.setAttribute("role", "button");
    element.setAttribute("tabindex", "-1");
    element.setAttribute("aria-label", note.label);
  });
}

/** What lies under the pointer: a note, or else the printed number of a bar. */
export function pick(event) {
  const group = event.target.closest?.(".note");
  const note = ofElement.get(group) ?? nearest(ofElement, event.clientX, event.clientY);
  if (note) return { note };
  const box = document.elementsFromPoint(event.clientX, event.clientY).find((each) => each.classList.contains("bar"));
  return box ? { bar: bars[Number(box.dataset.index)]?.number } : {};
}

/** Of pairs of a note's group and what it stands for, what lies near enough. */
export function nearest(pairs, x, y) {
  let best = NEAR_PX;
  let found;
  for (const [element, note] of pairs) {
    const head = element.querySelector(".notehead")?.getBoundingClientRect();
    const distance = head ? Math.hypot(head.x + head.width / 2 - x, head.y + head.height / 2 - y) : best;
    if (distance < best) [best, found] = [distance, note];
  }
  return found;
}

/** What lies over the page from above, and from where on from below. */
export const roofPx = () => Math.max(0, part("player").getBoundingClientRect().bottom);
export const floorPx = () => {
  const panel = part("touched");
  const isSheet = !panel.hidden && getComputedStyle(panel).position === "fixed";
  return isSheet ? panel.getBoundingClientRect().top : window.innerHeight;
};

/** Bring the keyboard to a note. */
export function focusNote(note, options = {}) {
  const element = elements.get(note?.note)?.[0];
  if (!element) return;
  shownLeaves().querySelectorAll('.note[tabindex="0"]').forEach((each) => each.setAttribute("tabindex", "-1"));
  element.setAttribute("tabindex", "0");
  element.focus(options);
}

const along = (note, way) => {
  const line = notes.filter((each) => each.voice === note.voice);
  const later = way > 0 ? line.filter((each) => each.onset > note.onset) : line.filter((each) => each.onset < note.onset);
  return way > 0 ? later[0] : later.at(-1);
};
const across = (note, way) => {
  const column = notes.filter((each) => each.onset === note.onset);
  return column[column.indexOf(note) + way];
};
const STEPS = {
  ArrowRight: (note) => along(note, 1), ArrowLeft: (note) => along(note, -1),
  ArrowDown: (note) => across(note, 1), ArrowUp: (note) => across(note, -1),
  Home: () => notes[0], End: () => notes.at(-1),
};

/** Where an arrow leads from the note that has the keyboard; undefined if it is none or the key is another. */
export const step = (event) => {
  const note = ofElement.get(event.target);
  return note && STEPS[event.key]?.(note);
};
export const focusedNote = () => ofElement.get(document.activeElement);

/** Show a bar: scroll to it and mark it for a while. */
export function leadTo(number) {
  const boxes = boxesOf(number);
  document.querySelectorAll(".tint.led").forEach((box) => box.classList.remove("led"));
  boxes.forEach((box) => box.classList.add("led"));
  boxes[0]?.scrollIntoView({ block: "center", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  focusNote(firstIn(number), { preventScroll: true });
}
