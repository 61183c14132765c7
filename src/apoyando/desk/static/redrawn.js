// Another drawing in place of the page: in large notes, as a telephone needs them, or with what stays down.
import { song, takeIn } from "/static/page.js";
import { listen, part } from "/static/talk.js";

const wishes = { large: part("show-large"), holds: part("show-holds") };
let stop = () => {};

function draw() {
  stop();
  part("to-stand").search = wishes.large.checked ? "?large=yes" : "";
  const wished = Object.keys(wishes).filter((wish) => wishes[wish].checked);
  if (!wished.length) { show(""); return; }
  const say = (text) => { part("stage").textContent = text; };
  stop = listen(`${song}/redrawn?${new URLSearchParams(wished.map((wish) => [wish, "yes"]))}`, {
    stage: (text) => say(`${text} …`),
    answer: ({ html }) => { say(""); show(html); },
    refused: ({ html }) => { say(""); part("refused").innerHTML = html; },
  });
}

/** One of the two is on the page; the other is hidden, and empty if it is this one. */
function show(html) {
  part("redrawn").innerHTML = html;
  part("redrawn").hidden = html === "";
  part("leaves").hidden = html !== "";
  takeIn();
}

for (const wish of Object.values(wishes)) wish.addEventListener("change", draw);
document.addEventListener("page:drawn", () => { if (Object.values(wishes).some(({ checked }) => checked)) draw(); });
wishes.large.checked = matchMedia("(max-width: 40rem)").matches;
if (wishes.large.checked && document.body.dataset.mark) draw(); // else it is drawn once there is a page
