/* The large picture of the class, in rows: what is pressed in it, the ghost of what might be, where the sound is. */

import {drawing as drawingOf, svg} from "./tools.js";
import {takes} from "./carry.js";

const THREAD = 2.5; // the ribbon of the quietest music, as it is drawn

/* The drawing, with what hands can do in it: track(n), put(n, track), minute(at_s). */
export function drawn(text, handlers) {
  const drawing = drawingOf(text);
  drawing.querySelectorAll("text").forEach((words) => words.setAttribute("aria-hidden", "true"));
  for (const part of drawing.querySelectorAll("g[data-n]")) {
    const n = Number(part.dataset.n);
    part.classList.add("alive");
    part.addEventListener("click", () => handlers.track(n));
    takes(part, (track) => handlers.put(n, track));
  }
  for (const row of drawing.querySelectorAll("g.row")) {
    row.addEventListener("dblclick", (event) => handlers.minute(second(drawing, row, event)));
    row.append(svg("path", {class: "ghost", d: ""}), svg("path", {class: "ghost two", d: ""}), svg("path", {class: "playhead", d: ""}));
  }
  return drawing;
}

/* The music of classes that might be: their energy, in means of step_s seconds each. */
export function showGhosts(drawing, ghosts) {
  for (const row of drawing?.querySelectorAll("g.row") ?? []) {
    row.querySelectorAll(".ghost").forEach((line, index) => line.setAttribute("d", course(row, ghosts[index])));
  }
}

function course(row, ghost) {
  let path = "", pen = "M";
  (ghost?.energy || []).forEach((value, index) => {
    const at = (index + 0.5) * ghost.step_s;
    if (value === null || at < of(row, "startS") || at > of(row, "endS")) { pen = "M"; return; }
    const low = of(row, "ribbon") + THREAD + value * (of(row, "bottom") - of(row, "ribbon") - THREAD);
    path += pen + across(row, at).toFixed(1) + " " + low.toFixed(1);
    pen = "L";
  });
  return path;
}

export function showPlayhead(drawing, at_s) {
  for (const row of drawing?.querySelectorAll("g.row") ?? []) {
    const here = at_s !== null && at_s >= of(row, "startS") && at_s < of(row, "endS");
    row.querySelector(".playhead").setAttribute("d", here ? "M" + across(row, at_s).toFixed(1) + " " + of(row, "top") + "V" + of(row, "low") : "");
  }
}

const of = (row, name) => Number(row.dataset[name]);
const across = (row, at_s) => of(row, "left") + (at_s - of(row, "startS")) / (of(row, "endS") - of(row, "startS")) * (of(row, "right") - of(row, "left"));

function second(drawing, row, event) {
  const box = drawing.getBoundingClientRect(), x = (event.clientX - box.left) / box.width * drawing.viewBox.baseVal.width;
  return of(row, "startS") + (x - of(row, "left")) / (of(row, "right") - of(row, "left")) * (of(row, "endS") - of(row, "startS"));
}
