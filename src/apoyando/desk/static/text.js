import { cutEmpty, part, send, whenStill } from "/static/talk.js";

const text = part("text");
const numbers = part("line-numbers");
let newest = 0;

function showNumbers(wrong = new Set()) {
  const lines = text.value.split("\n").length;
  numbers.replaceChildren(...Array.from({ length: lines }, (_, index) => {
    const line = document.createElement("div");
    line.textContent = index + 1;
    if (wrong.has(index + 1)) line.className = "wrong";
    return line;
  }));
  numbers.scrollTop = text.scrollTop;
}

function goTo(line, column) {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0) + column - 1;
  text.focus();
  text.setSelectionRange(start, start + 1);
}

function showProblems(problems) {
  part("mistakes").replaceChildren(...problems.map((problem) => {
    const item = document.createElement("li");
    if (!problem.line) { item.textContent = problem.text; return item; }
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "place", textContent: problem.text });
    Object.assign(button.dataset, { line: problem.line, column: problem.column });
    item.append(button);
    return item;
  }));
  showNumbers(new Set(problems.map((problem) => problem.line)));
}

const draw = whenStill(async () => {
  const mine = ++newest;
  const answer = await send("/sketch", { text: text.value });
  if (mine !== newest || answer.stopped) return;
  if (answer.sheet !== null) { part("sheet").innerHTML = answer.sheet; cutEmpty(part("sheet")); }
  showProblems(answer.problems);
}, 200);

part("mistakes").addEventListener("click", (event) => {
  const place = event.target.closest(".place");
  if (place && Number(place.dataset.line)) goTo(Number(place.dataset.line), Number(place.dataset.column));
});
text.addEventListener("input", () => { showNumbers(); draw(); });
text.addEventListener("scroll", () => { numbers.scrollTop = text.scrollTop; });
showNumbers();
draw();
