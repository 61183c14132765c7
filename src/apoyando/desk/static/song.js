import { listen, part, renew, send, whenStill } from "/static/talk.js";

const song = `/songs/${document.body.dataset.song}`;
const PARTS = ["leaves", "choices", "steps", "changes", "told"];
let mark = document.body.dataset.mark;
let asked = mark; // the mark of what was asked for last; null where that is not known
let stopListening = () => {};
let isDrawing = false;
let touched = false;
let sending = Promise.resolve();

/** Ask for the page as the plan now has it. What was asked before is not wanted any more. */
function draw() {
  stopListening();
  isDrawing = true;
  touched = false;
  document.body.classList.add("is-stale");
  part("refused").textContent = "";
  stopListening = listen(`${song}/page?seen=${mark}`, {
    stage: (text) => { part("stage").textContent = `${text} …`; },
    look: ({ leaves }) => { part("leaves").innerHTML = leaves; },
    answer: (parts) => { mark = asked = parts.mark; show(parts); finish(""); announce("drawn"); },
    refused: ({ html }) => { part("refused").innerHTML = html; asked = null; finish(""); refreshSteps(); announce("refused"); },
  });
}

/** Tell the other modules of the page: "page:drawn" or "page:refused". */
function announce(what) { document.dispatchEvent(new Event(`page:${what}`)); }

function finish(text) {
  isDrawing = false;
  part("stage").textContent = text;
  document.body.classList.remove("is-stale");
  document.body.dataset.mark = mark;
}

/** Put new parts in place; whoever is at a control stays there, and what is being typed is not taken away. */
function show(parts) {
  const focused = document.activeElement?.id;
  for (const id of PARTS) {
    if (id === "choices" && touched) continue;
    part(id).innerHTML = parts[id];
  }
  if (focused && document.activeElement?.id !== focused) part(focused)?.focus();
}

/** Undo must stay within reach where a page could not be made. */
const refreshSteps = () => renew(song, ["steps", "choices"]);

/** Send a decision, and draw the page as the plan then has it. One is sent after the other: the last has its way. */
export function change(address, fields) {
  document.body.classList.add("is-stale");
  sending = sending.then(() => decide(address, fields));
  return sending;
}

async function decide(address, fields) {
  try {
    await send(`${song}/${address}`, fields);
    draw();
  } catch (error) {
    part("refused").textContent = error.message;
    if (!isDrawing) finish("");
    announce("refused");
  }
}

function sendSections() {
  const rows = [...part("sections").querySelectorAll(".section-row")];
  const fields = new URLSearchParams({ sections: "yes" });
  for (const row of rows) {
    for (const cell of row.querySelectorAll("[name]")) fields.append(cell.name, cell.value);
  }
  change("plan", fields);
}

part("choices").addEventListener("input", () => { touched = true; });
part("choices").addEventListener("submit", (event) => event.preventDefault());
part("choices").addEventListener("change", ({ target }) => {
  if (target.name.startsWith("section_")) {
    if (target.closest(".section-row").querySelector("[name=section_bar]").value) sendSections();
    return;
  }
  change("plan", { [target.name]: target.type === "checkbox" ? String(target.checked) : target.value });
});
part("choices").addEventListener("click", ({ target }) => {
  if (target.id === "add-section") {
    part("sections").append(part("section-row").content.cloneNode(true));
    part("sections").lastElementChild.querySelector("input").focus();
  } else if (target.closest(".take-out")) {
    target.closest(".section-row").remove();
    sendSections();
  }
});

part("steps").addEventListener("click", ({ target }) => {
  if (target.dataset.way) change(target.dataset.way, {});
});

part("compare").addEventListener("click", () => {
  const say = (text) => { part("keys-stage").textContent = text; };
  say("asking …");
  listen(`${song}/keys`, {
    stage: (text) => say(`${text} …`),
    answer: ({ html }) => { part("keys").innerHTML = html; say(""); },
    refused: ({ html }) => { part("keys").innerHTML = html; say(""); },
    stopped: () => say(""),
  });
});
part("keys").addEventListener("click", ({ target }) => {
  const { key, capo, tuning } = target.closest("[data-key]")?.dataset ?? {};
  if (key) change("plan", { key, capo, tuning });
});

async function keep(address, fields) {
  try {
    await send(`${song}/${address}`, fields);
    part("kept").textContent = "kept";
  } catch (error) {
    part("kept").textContent = error.message;
  }
}
part("state").addEventListener("change", ({ target }) => keep("state", { state: target.value }));
let unkept = false;
const keepNotes = () => { unkept = false; return keep("notes", { notes: part("notes").value }); };
const keepNotesSoon = whenStill(() => { if (unkept) keepNotes(); }, 600);
part("notes").addEventListener("input", () => { unkept = true; part("kept").textContent = ""; keepNotesSoon(); });
window.addEventListener("pagehide", () => { if (unkept) keepNotes(); });

/** The plan may be edited with any editor: look now and then, and at once on coming back. */
async function look() {
  if (document.hidden || isDrawing) return;
  try {
    const answer = await fetch(`${song}/mark`);
    const now = answer.ok ? (await answer.json()).mark : asked;
    asked ??= now;
    if (!isDrawing && now !== asked) draw();
  } catch { /* the desk is closed; the next change will say so */ }
}
setInterval(look, 2000);
document.addEventListener("visibilitychange", look);

if (!mark) draw();
