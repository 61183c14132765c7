// How the pages speak with the desk.

/** Send a form's fields; gives the answer, or throws what the desk says against it. */
export async function send(address, fields) {
  const body = fields instanceof FormData || fields instanceof URLSearchParams ? fields : new URLSearchParams(fields);
  const answer = await fetch(address, { method: "POST", body, keepalive: true });
  if (!answer.ok) throw new Error(await answer.text());
  return answer.status === 204 ? null : answer.json();
}

/** Listen while the desk works; gives a function that stops listening, and with it the work. */
export function listen(address, { stage, look = () => {}, answer, refused, stopped = () => {} }) {
  const source = new EventSource(address);
  const end = (then) => (event) => { source.close(); then(JSON.parse(event.data)); };
  source.addEventListener("stage", (event) => stage(JSON.parse(event.data).text));
  source.addEventListener("look", (event) => look(JSON.parse(event.data)));
  source.addEventListener("answer", end(answer));
  source.addEventListener("refused", end(refused));
  source.addEventListener("stopped", end(stopped));
  source.onerror = () => {
    source.close();
    refused({ html: "The desk does not answer. Is it still running? Start it again with the command “apoyando desk”." });
  };
  return () => source.close();
}

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
