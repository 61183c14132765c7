import { ask, part, whenStill } from "/static/talk.js";

const drop = part("drop");
for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => { event.preventDefault(); drop.classList.add("over"); });
}
document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) drop.classList.remove("over"); });
document.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  if (!event.dataTransfer.files.length) return;
  part("song").files = event.dataTransfer.files;
  drop.submit();
});
part("song").addEventListener("change", () => { if (part("song").files.length) drop.requestSubmit(); });

const form = part("search-form");
const look = whenStill(async () => {
  const { isGood, text } = await ask(`/songs?${new URLSearchParams(new FormData(form))}`);
  if (isGood) part("songs").innerHTML = text;
}, 150);
part("search").addEventListener("input", look);
if (part("search").value !== part("search").defaultValue) look(); // typed before this module was there
form.addEventListener("submit", (event) => { event.preventDefault(); look(); });

const off = part("off");
part("songs").addEventListener("click", ({ target }) => {
  const { off: id, title } = target.closest("[data-off]")?.dataset ?? {};
  if (!id) return;
  off.querySelector("form").action = `/songs/${id}/off`;
  part("off-title").textContent = title;
  off.showModal();
});
part("off-not").addEventListener("click", () => off.close());
