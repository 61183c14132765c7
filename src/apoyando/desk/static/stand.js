import { part } from "/static/talk.js";

const leaves = [...document.querySelectorAll(".leaf")];
let first = 0;

/** The margins of the paper are cut off, as far as they are empty on every page: so the music is larger. */
function cutMargins() {
  const drawings = leaves.map((leaf) => leaf.querySelector("svg"));
  const boxes = drawings.map((svg) => svg.getBBox());
  const [left, top] = ["x", "y"].map((side) => Math.min(...boxes.map((box) => box[side])));
  const right = Math.max(...boxes.map((box) => box.x + box.width));
  const bottom = Math.max(...boxes.map((box) => box.y + box.height));
  const margin = 0.02 * (right - left);
  const [width, height] = [right - left + 2 * margin, bottom - top + 2 * margin];
  drawings.forEach((svg) => svg.setAttribute("viewBox", [left - margin, top - margin, width, height].join(" ")));
  document.body.style.setProperty("--leaf-ratio", `${width} / ${height}`);
}

/** Two pages where there is room beside each other for both, else one. */
const together = () => (window.innerWidth > 1.25 * window.innerHeight && leaves.length > 1 ? 2 : 1);

function show(from) {
  const count = together();
  first = Math.max(0, Math.min(from, leaves.length - count));
  leaves.forEach((leaf, index) => { leaf.hidden = index < first || index >= first + count; });
  const last = Math.min(first + count, leaves.length);
  part("place").textContent = `page ${count === 2 ? `${first + 1} and ${last}` : last} of ${leaves.length}`;
  part("back").disabled = first === 0;
  part("on").disabled = last >= leaves.length;
}
const turn = (way) => show(first + way * together());

const KEYS = { PageDown: 1, ArrowRight: 1, ArrowDown: 1, PageUp: -1, ArrowLeft: -1, ArrowUp: -1 };
document.addEventListener("keydown", (event) => {
  if (!KEYS[event.key]) return;
  event.preventDefault();
  turn(KEYS[event.key]);
});
part("leaves").addEventListener("click", (event) => turn(event.clientX > window.innerWidth / 2 ? 1 : -1));
part("on").addEventListener("click", () => turn(1));
part("back").addEventListener("click", () => turn(-1));
window.addEventListener("resize", () => show(first));
if (leaves.length) cutMargins();
show(0);
