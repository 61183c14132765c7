// See the holds: the page with what stays down under each system, in place of the page.
import { song, takeIn } from "/static/page.js";
import { listen, part } from "/static/talk.js";

const wish = part("show-held");
let stop = () => {};

function draw() {
  stop();
  if (!wish.checked) { show(""); return; }
  const say = (text) => { part("stage").textContent = text; };
  stop = listen(`${song}/held`, {
    stage: (text) => say(`${text} …`),
    answer: ({ html }) => { say(""); show(html); },
    refused: ({ html }) => { say(""); part("refused").innerHTML = html; },
  });
}

/** One of the two is on the page; the other is hidden, and empty if it is this one. */
function show(html) {
  part("held").innerHTML = html;
  part("held").hidden = html === "";
  part("leaves").hidden = html !== "";
  takeIn();
}

wish.addEventListener("change", draw);
document.addEventListener("page:drawn", () => { if (wish.checked) draw(); });
