// Touch the page: a note or a bar opened beside it, and settled.
import { change } from "/static/song.js";
import { boxesOf, roofPx, elementsOf, findNote, firstIn, focusedNote, focusNote, leadTo, pick, shownLeaves, song, step, takeIn } from "/static/page.js";
import { ask, listen, part } from "/static/talk.js";

const panel = part("touched");
const body = part("touched-body");
let opened = null; // { address, query, note or bar }
let stopWeighing = () => {};
let wasOnPage = false;

async function open(what, isAnew = true) {
  stopWeighing();
  opened = what;
  const { isGood, text } = await ask(`${song}/${what.address}?${new URLSearchParams(what.query)}`);
  if (opened !== what) return;
  if (!isGood) { part("refused").textContent = text; return; }
  const inside = panel.contains(document.activeElement) || document.activeElement === document.body;
  const control = document.activeElement?.id;
  body.innerHTML = text;
  panel.hidden = false;
  showChosen();
  if (isAnew) { panel.scrollTop = 0; bringIntoView(); part("touched-head").focus({ preventScroll: true }); }
  else if (inside) (control && body.querySelector(`#${control}`) || part("touched-head")).focus({ preventScroll: true });
  if (what.address === "note") weigh("note/ways", what.query);
}

/** On a wide page the panel comes into view, on a narrow one what it covers moves up. */
function bringIntoView() {
  const { top } = panel.getBoundingClientRect();
  if (getComputedStyle(panel).position !== "fixed") { panel.closest(".margin").scrollTop = 0; return; }
  const system = document.querySelector(".chosen")?.closest(".system")?.getBoundingClientRect();
  if (system && (system.bottom > top || system.top < roofPx())) window.scrollBy(0, system.bottom - top + 16);
}

const openNote = (note) => {
  const { bar, beat, voice, string } = note;
  return open({ address: "note", query: { bar, beat, voice, string }, note });
};
const openBar = (bar) => open({ address: "bar", query: { bar }, bar });

function weigh(address, query) {
  const say = (text) => { const stage = part("ways-stage"); if (stage) stage.textContent = text; };
  say("asking …");
  stopWeighing = listen(`${song}/${address}?${new URLSearchParams(query)}`, {
    stage: (text) => say(`${text} …`),
    answer: ({ html }) => { part("ways").innerHTML = html; say(""); },
    refused: ({ html }) => { part("ways").innerHTML = html; say(""); },
    stopped: () => say(""),
  });
}

/** The note or the bar that is open is marked on the page. */
function showChosen() {
  document.querySelectorAll(".chosen").forEach((each) => each.classList.remove("chosen"));
  if (!opened) return;
  const note = opened.address === "note" && findNote(opened.query);
  const marked = note ? elementsOf(note.note) : opened.bar ? boxesOf(opened.bar) : [];
  marked.forEach((each) => each.classList.add("chosen"));
}

function close() {
  stopWeighing();
  const before = opened;
  opened = null;
  panel.hidden = true;
  body.replaceChildren();
  showChosen();
  if (before) focusNote(before.note ?? firstIn(before.bar));
}

/** Only the ways at one place; all of them where it is touched again. */
function showSpot(spot) {
  const isShown = spot.getAttribute("aria-pressed") === "true";
  for (const each of body.querySelectorAll(".spot")) each.setAttribute("aria-pressed", String(each === spot && !isShown));
  for (const item of body.querySelectorAll(".way-list li[data-spot]")) {
    item.hidden = !isShown && item.dataset.spot !== spot.dataset.spot;
  }
  part("all-ways").hidden = isShown;
  if (!isShown) body.querySelector(".way-list li:not([hidden]) button")?.focus();
}

const settle = (query, way) => change("note", { ...query, way });
const settleBar = (entry, value, fingers = "") => change("bar", { bar: opened.bar, entry, value, fingers });

panel.addEventListener("click", ({ target }) => {
  const spot = target.closest(".spot");
  const button = target.closest("button");
  if (spot) showSpot(spot);
  if (!button) return;
  const { dataset } = button;
  if (button.id === "leave-touched") close();
  else if (button.id === "weigh-bar") weigh("bar/positions", opened.query);
  else if (button.id === "add-inner") openNote({ bar: dataset.bar, beat: part("inner-beat").value, voice: "inner", string: "0" });
  else if (button.id === "all-ways") showSpot(body.querySelector('.spot[aria-pressed="true"]'));
  else if ("leaveOut" in dataset) settle(dataset2query(dataset), "silent");
  else if ("way" in dataset) settle(opened.query, dataset.way);
  else if ("position" in dataset) settleBar("position", dataset.position);
  else if ("openBar" in dataset) openBar(dataset.openBar);
  else if ("beat" in dataset) openNote(dataset2query(dataset));
});
const dataset2query = ({ bar, beat, voice, string }) => ({ bar, beat, voice, string });

panel.addEventListener("keydown", (event) => {
  if (event.key === "Escape") close();
  const spot = event.target.closest(".spot");
  if (spot && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); showSpot(spot); }
});
panel.addEventListener("submit", (event) => event.preventDefault());
panel.addEventListener("change", ({ target }) => {
  const form = target.closest("#bar-form");
  if (!form) return;
  if (target.name === "shape" || target.name === "fingers") {
    if (form.elements.shape.value || target.name === "shape") {
      settleBar("shape", form.elements.shape.value, form.elements.shape.value && form.elements.fingers.value);
    }
  } else settleBar(target.name, target.type === "checkbox" && !target.checked ? "" : target.value);
});

document.addEventListener("click", ({ target }) => {
  const { takeOut, lead } = target.closest?.("[data-take-out], [data-lead]")?.dataset ?? {};
  if (takeOut !== undefined) change("settled", { what: takeOut });
  if (lead !== undefined) leadTo(lead);
});
part("go-to-bar").addEventListener("submit", (event) => {
  event.preventDefault();
  const bar = part("bar-wanted").value.trim();
  if (bar) openBar(bar);
});

for (const leaves of [part("leaves"), part("redrawn")].filter(Boolean)) {
  leaves.addEventListener("click", (event) => {
    const { note, bar } = pick(event);
    if (event.shiftKey && (note || bar)) {
      document.dispatchEvent(new CustomEvent("page:mark", { detail: note?.bar ?? bar }));
    } else if (note) { focusNote(note, { preventScroll: true }); openNote(note); } else if (bar) openBar(bar);
  });
  leaves.addEventListener("keydown", (event) => {
    const next = step(event);
    if (next) { event.preventDefault(); focusNote(next); }
    else if ((event.key === "Enter" || event.key === " ") && focusedNote()) { event.preventDefault(); openNote(focusedNote()); }
  });
  leaves.addEventListener("focusin", () => { wasOnPage = true; });
  leaves.addEventListener("focusout", ({ relatedTarget }) => { if (relatedTarget) wasOnPage = false; });
}

async function refreshSettled() {
  const { isGood, text } = await ask(`${song}/settled`);
  if (isGood) part("settled").innerHTML = text;
}
document.addEventListener("page:drawn", () => { takeIn(); refreshSettled(); });
document.addEventListener("page:refused", () => {
  refreshSettled();
  const stage = part("ways-stage");
  if (stage) stage.textContent = part("refused").textContent;
});
document.addEventListener("page:ready", () => {
  showChosen();
  if (opened) open(opened, false);
  if (wasOnPage && document.activeElement === document.body) focusNote(opened?.note ?? null);
});
if (document.body.dataset.mark) takeIn();
