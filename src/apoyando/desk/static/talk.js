// How the pages speak with the desk.

/** Send a form's fields; gives the answer, or throws what the desk says against it. */
export async function send(address, fields) {
  const body = fields instanceof FormData || fields instanceof URLSearchParams ? fields : new URLSearchParams(fields);
  const answer = await fetch(address, { method: "POST", body, keepalive: true });
  if (!answer.ok) throw new Error(await answer.text());
  return answer.status === 204 ? null : answer.json();
}

/** Ask for something to put in place; it comes when no hand is on what it replaces. */
export async function ask(address) {
  const answer = await fetch(address);
  const text = await answer.text();
  await whenLetGo();
  return { isGood: answer.ok, text };
}

/** Put parts of a page in place as the desk has them now; gives what had the keyboard before. */
export async function renew(address, ids) {
  const { text } = await ask(address);
  const fresh = new DOMParser().parseFromString(text, "text/html");
  const held = document.activeElement;
  for (const id of ids) part(id).innerHTML = fresh.getElementById(id).innerHTML;
  return held;
}

/** Listen while the desk works; gives a function that stops listening, and with it the work. */
export function listen(address, { stage, look = () => {}, answer, refused, stopped = () => {} }) {
  const source = new EventSource(address);
  let isWanted = true;
  const hear = (then) => async ({ data }) => { await whenLetGo(); if (isWanted) then(JSON.parse(data)); };
  const end = (then) => (event) => { source.close(); return hear(then)(event); };
  source.addEventListener("stage", (event) => stage(JSON.parse(event.data).text));
  source.addEventListener("look", hear((leaves) => { if (source.readyState !== EventSource.CLOSED) look(leaves); }));
  source.addEventListener("answer", end(answer));
  source.addEventListener("refused", end(refused));
  source.addEventListener("stopped", end(stopped));
  source.onerror = () => {
    source.close();
    refused({ html: "The desk does not answer. Is it still running? Start it again with the command “apoyando desk”." });
  };
  return () => { isWanted = false; source.close(); };
}

let isPressed = false;
let release = 0;
const waiting = [];

function letGo() {
  isPressed = false;
  waiting.splice(0).forEach((go) => go());
}
const CLICK_MS = 50; // a click comes after the hand is lifted, on a touch screen somewhat later
const letGoSoon = () => { clearTimeout(release); release = setTimeout(letGo, CLICK_MS); };
addEventListener("pointerdown", () => { clearTimeout(release); isPressed = true; }, true);
for (const sign of ["pointerup", "pointercancel", "change", "blur"]) addEventListener(sign, letGoSoon, true);
// An open list takes the lifting of the hand for itself.
addEventListener("pointermove", ({ buttons }) => { if (isPressed && !buttons) letGoSoon(); }, true);

/** Wait while something is pressed: were it replaced now, the click would be lost. */
const whenLetGo = () => new Promise((go) => { if (isPressed) waiting.push(go); else go(); });

/** Call a function when nothing more has happened for a while. */
export function whenStill(call, milliseconds) {
  let timer = 0;
  return (...given) => { clearTimeout(timer); timer = setTimeout(() => call(...given), milliseconds); };
}

export const part = (id) => document.getElementById(id);

/** Drawn pages to read on a screen end where their music ends: what paper leaves empty is cut off. */
export function cutEmpty(leaves) {
  for (const svg of leaves.querySelectorAll("svg")) {
    const [x, y, width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
    const box = svg.getBBox();
    const margin = 0.05 * width;
    for (const side of ["width", "height"]) svg.removeAttribute(side); // the shape of the paper
    svg.setAttribute("viewBox", [x, y, width, Math.min(height, box.y + box.height - y + margin)].join(" "));
  }
}
