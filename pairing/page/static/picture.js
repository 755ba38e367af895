/* The large picture of the class: what is pressed in it, the ghost of what might be, and where the sound is. */

import {drawing as drawingOf, svg} from "./tools.js";
import {takes} from "./carry.js";

/* The drawing, with what hands can do in it: track(n), put(n, track), minute(at_s). */
export function drawn(picture, chosen, handlers) {
  const drawing = drawingOf(picture.svg);
  drawing.querySelectorAll("text").forEach((text) => text.setAttribute("aria-hidden", "true"));
  for (const part of drawing.querySelectorAll("g[data-n]")) {
    const n = Number(part.dataset.n);
    part.classList.add("alive");
    part.classList.toggle("chosen", n === chosen);
    part.addEventListener("click", () => handlers.track(n));
    takes(part, (track) => handlers.put(n, track));
  }
  drawing.addEventListener("dblclick", (event) => handlers.minute(second(drawing, picture, event)));
  drawing.append(svg("path", {class: "ghost", d: ""}), svg("path", {class: "ghost two", d: ""}), svg("path", {class: "playhead", d: ""}));
  return drawing;
}

/* The music of classes that might be: their energy, in means of step_s seconds each. */
export function showGhosts(drawing, picture, ghosts) {
  const lines = drawing?.querySelectorAll(".ghost") ?? [];
  lines.forEach((line, index) => line.setAttribute("d", course(picture, ghosts[index])));
}

function course(picture, ghost) {
  let path = "", pen = "M";
  (ghost?.energy || []).forEach((value, index) => {
    if (value === null) { pen = "M"; return; }
    path += pen + across(picture, (index + 0.5) * ghost.step_s).toFixed(1) + " " + (picture.floor - value * picture.energy_height).toFixed(1);
    pen = "L";
  });
  return path;
}

export function showPlayhead(drawing, picture, at_s) {
  const x = at_s === null ? null : across(picture, at_s);
  drawing?.querySelector(".playhead")?.setAttribute("d", x === null ? "" : "M" + x.toFixed(1) + " " + picture.top + "V" + picture.bottom);
}

const across = (picture, at_s) =>
  picture.left + (at_s - picture.start_s) / (picture.end_s - picture.start_s) * (picture.right - picture.left);

function second(drawing, picture, event) {
  const box = drawing.getBoundingClientRect(), x = (event.clientX - box.left) / box.width * drawing.viewBox.baseVal.width;
  return picture.start_s + (x - picture.left) / (picture.right - picture.left) * (picture.end_s - picture.start_s);
}
