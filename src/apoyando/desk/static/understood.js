// What was understood, put right: the chords, the notes of the tune, the key and the pickup.
import { nearest } from "/static/page.js";
import { cutEmpty, part, renew, send } from "/static/talk.js";

const song = `/songs/${document.body.dataset.song}`;
let sending = Promise.resolve();
let opened = null; // { bar, beat } of the note that is being put right

const buttons = () => [...document.querySelectorAll(".tune-note")];
const find = (place) => place && buttons().find(({ dataset }) => dataset.bar === place.bar && dataset.beat === place.beat);
const headsOf = (button) => button.dataset.heads.split(" ").map((id) => part("leaves").querySelector(`[id="${id}"]`)).filter(Boolean);

function open(button) {
  const { bar, beat, place, words, pitch, length, mine } = button.dataset;
  opened = { bar, beat };
  part("touched-head").textContent = place[0].toUpperCase() + place.slice(1);
  part("note-words").textContent = words.replace("#", "♯") + (mine ? " (yours)" : "");
  part("note-pitch").value = pitch;
  const choice = part("note-length");
  choice.querySelector(".odd")?.remove();
  if (![...choice.options].some((option) => option.value === length)) {
    const odd = new Option(words.slice(words.indexOf(", ") + 2), length);
    odd.className = "odd";
    choice.add(odd);
  }
  choice.value = length;
  part("note-back").hidden = !mine;
  part("tune-note").hidden = false;
  mark(button);
}

function mark(button) {
  document.querySelectorAll(".chosen").forEach((each) => each.classList.remove("chosen"));
  if (!button) return;
  button.classList.add("chosen");
  headsOf(button).forEach((head) => head.classList.add("chosen"));
}

function close() {
  const button = find(opened);
  opened = null;
  part("tune-note").hidden = true;
  mark(null);
  button?.focus();
}

/** Send what is put right, and show the song as it then reads; whoever is at a control stays there.
 *
 * One is sent after the other, and `tell` says only then what: so that two half steps are a whole one.
 */
function put(address, tell, goOn = () => opened) {
  sending = sending.then(async () => {
    part("refused").textContent = "";
    part("stage").textContent = "reading …";
    try {
      const fields = tell();
      await send(`${song}/${address}`, fields);
      await refresh(goOn(fields));
    } catch (error) {
      part("refused").textContent = error.message;
    }
    part("stage").textContent = "";
  });
}

async function refresh(next) {
  const held = await renew(`${song}/read`, ["read", "steps"]);
  if (part("leaves")) cutEmpty(part("leaves"));
  const button = find(next);
  if (button) open(button); else opened = null;
  const there = part(held?.id) ?? part(held?.form?.id)?.querySelector("input:not([type=hidden])");
  if (there && !there.closest("[hidden]") && !there.disabled) there.focus();
  else if (button) part("touched-head").focus({ preventScroll: true });
}

const change = (tell, goOn) => put("tune", () => ({ ...opened, ...tell(find(opened)?.dataset ?? {}) }), goOn);
const nowhere = () => null;

document.addEventListener("click", (event) => {
  const { target } = event;
  const button = target.closest("button");
  const { dataset = {}, id } = button ?? {};
  if (dataset.to) change((note) => ({ pitch: note[dataset.to] }));
  else if (id === "leave-note") close();
  else if (id === "note-out") change(() => ({ rest: "yes" }), nowhere);
  else if (id === "note-back") change(() => ({}));
  else if (id === "note-after") addAfter();
  else if ("back" in dataset) put("tune", () => ({ bar: dataset.bar, beat: dataset.beat }));
  else if (dataset.way) put(dataset.way, () => ({}));
  else if (button?.classList.contains("tune-note")) { open(button); part("touched-head").focus({ preventScroll: true }); showPanel(); }
  else if (target.closest("#leaves")) pick(event);
});

/** A note of the staff: the button that stands for it opens it. */
function pick({ clientX, clientY }) {
  const button = nearest(buttons().flatMap((each) => headsOf(each).map((head) => [head, each])), clientX, clientY);
  if (button) { open(button); part("touched-head").focus({ preventScroll: true }); }
}

function showPanel() {
  if (getComputedStyle(part("tune-note")).position !== "fixed") part("tune-note").scrollIntoView({ block: "nearest" });
}

const addAfter = () => change(({ afterBar: bar, afterBeat: beat, pitch }) => ({ bar, beat, pitch }), placeOf);
const placeOf = ({ bar, beat }) => ({ bar, beat });

document.addEventListener("change", ({ target }) => {
  if (target.id === "note-pitch") change(() => ({ pitch: target.value }));
  else if (target.id === "note-length") change(() => ({ length: target.value }));
  else if (target.id === "written-key" || target.id === "pickup") put("signature", () => ({ [target.name]: target.value }), nowhere);
});
document.addEventListener("submit", (event) => {
  const form = event.target;
  const isChord = form.classList.contains("chord-form");
  if (form.id === "note-form" || form.id === "new-note" || isChord) event.preventDefault();
  const fields = Object.fromEntries(new FormData(form, event.submitter));
  if (isChord) put("chords", () => fields);
  else if (form.id === "new-note") put("tune", () => fields, placeOf);
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && opened) close();
});
if (part("leaves")) cutEmpty(part("leaves"));
