// Take it away: what takes long is made with its stages shown, and can be stopped.
import { listen, part } from "/static/talk.js";

const song = `/songs/${document.body.dataset.song}`;
const OF = /(\d+) of (\d+)/;
let stop = () => {};

function end(text) {
  stop = () => {};
  part("making").hidden = !text;
  part("made").hidden = part("stop-making").hidden = true;
  part("making-stage").textContent = text;
}

function begin(what) {
  stop();
  part("making").hidden = part("made").hidden = part("stop-making").hidden = false;
  part("made").removeAttribute("value");
  part("making-stage").textContent = "asking …";
  stop = listen(`${song}/make/${what}`, {
    stage: (text) => {
      part("making-stage").textContent = `${text} …`;
      const [, number, count] = OF.exec(text) ?? [];
      if (count) part("made").value = (number - 1) / count;
    },
    answer: ({ address }) => { end("It is there."); location.assign(address); },
    refused: ({ html }) => { end(" "); part("making-stage").innerHTML = html; },
    stopped: () => end("Stopped."),
  });
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-make]");
  if (link) { event.preventDefault(); begin(link.dataset.make); }
});
part("stop-making").addEventListener("click", () => { stop(); end("Stopped."); });
