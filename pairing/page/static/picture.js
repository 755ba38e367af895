/* The class's picture, and the layer over it that hands can reach: tracks, wishes, the ghost of what might be. */

import {takes} from "./carry.js";
import {act, minutes, svg} from "./tools.js";

const STEP = 5;

/* The drawing, with a layer of `handlers` over it: pick(n), put(n, track), minute(at_s). */
export function drawn(picture, chosen, handlers) {
  const parsed = new DOMParser().parseFromString(picture.svg, "image/svg+xml");
  const drawing = document.importNode(parsed.documentElement, true);
  if (!handlers) return drawing;
  drawing.removeAttribute("role");
  drawing.removeAttribute("aria-labelledby");
  drawing.classList.add("alive");
  drawing.querySelectorAll("text").forEach((text) => text.setAttribute("aria-hidden", "true"));
  drawing.append(
    timeLayer(picture, drawing, handlers),
    svg("path", {class: "ghost", d: ""}),
    ...picture.wishes.map((wish) => handle(picture, drawing, wish)),
    ...picture.picks.map((pick) => block(picture, pick, chosen, handlers)),
    svg("path", {class: "playhead", d: ""}),
  );
  return drawing;
}

/* The music of a class that might be: its energy, in means of step_s seconds each. */
export function showGhost(drawing, picture, ghost) {
  let path = "", pen = "M";
  (ghost?.energy || []).forEach((value, index) => {
    if (value === null) { pen = "M"; return; }
    path += pen + across(picture, (index + 0.5) * ghost.step_s).toFixed(1) + " " + (picture.floor - value * picture.energy_height).toFixed(1);
    pen = "L";
  });
  drawing?.querySelector(".ghost")?.setAttribute("d", path);
}

export function showPlayhead(drawing, picture, at_s) {
  const line = drawing?.querySelector(".playhead");
  if (!line) return;
  const x = at_s === null ? null : across(picture, at_s);
  line.setAttribute("d", x === null ? "" : "M" + x.toFixed(1) + " " + picture.top + "V" + (picture.strip_top + picture.strip));
}

const across = (picture, at_s) =>
  picture.left + (at_s - picture.start_s) / (picture.end_s - picture.start_s) * (picture.right - picture.left);

function place(drawing, event) {
  const box = drawing.getBoundingClientRect(), view = drawing.viewBox.baseVal;
  return {x: (event.clientX - box.left) / box.width * view.width, y: (event.clientY - box.top) / box.height * view.height};
}

/* Two quick clicks anywhere on the curves: the class from that minute. */
function timeLayer(picture, drawing, handlers) {
  return svg("rect", {
    class: "ground", x: picture.left, y: picture.top, width: picture.right - picture.left, height: picture.floor - picture.top,
    ondblclick: (event) => {
      const share = (place(drawing, event).x - picture.left) / (picture.right - picture.left);
      handlers.minute(picture.start_s + share * (picture.end_s - picture.start_s));
    },
  });
}

/* A track of the strip: a button to point at, and a place to drop another track on. */
function block(picture, pick, chosen, handlers) {
  const box = svg("rect", {
    class: "pick" + (pick.n === chosen ? " chosen" : ""), x: pick.x, y: picture.strip_top, width: Math.max(pick.width, 3), height: picture.strip,
    tabindex: pick.n === (chosen || 1) ? 0 : -1, role: "button", "data-key": "pick-" + pick.n, "data-n": pick.n,
    "aria-label": "Track " + pick.n + ", " + pick.title + ", at " + minutes(pick.start_s) + (pick.pinned ? ", pinned" : ""),
    "aria-pressed": pick.n === chosen ? "true" : "false",
  });
  box.addEventListener("click", () => handlers.pick(pick.n));
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); handlers.pick(pick.n); }
    const other = {ArrowLeft: pick.n - 1, ArrowRight: pick.n + 1, Home: 1, End: picture.picks.length}[event.key];
    if (other && other >= 1 && other <= picture.picks.length) { event.preventDefault(); handlers.pick(other, true); }
  });
  takes(box, (track) => handlers.put(pick.n, track));
  if (!pick.pinned) return box;
  const mark = svg("path", {class: "pinned", d: "M" + (pick.x + pick.width / 2 - 5) + " " + (picture.strip_top - 8) + "h10l-5 8z"});
  return svg("g", {}, box, mark);
}

/* A section's wish for energy: drag it up or down, or move it with the arrow keys; Enter or leaving it does it. */
function handle(picture, drawing, wish) {
  let percent = wish.percent, held = false, doing = false;
  const middle = wish.x + wish.width / 2, wide = Math.min(Math.max(wish.width - 8, 14), 64);
  const bar = svg("rect", {class: "grip", x: middle - wide / 2, width: wide, height: 9, rx: 4});
  const reach = svg("rect", {class: "reach", x: wish.x, width: wish.width, height: 26});
  const words = svg("text", {class: "small halo", x: middle, "text-anchor": "middle", "aria-hidden": "true"});
  const group = svg("g", {
    class: "wish", tabindex: 0, role: "slider", "aria-orientation": "vertical", "aria-valuemin": 0, "aria-valuemax": 100,
    "aria-label": "Energy asked for in " + wish.name, "data-key": "wish-" + wish.section,
  }, reach, bar, words);
  const show = () => {
    const y = picture.floor - percent / 100 * picture.energy_height;
    bar.setAttribute("y", y - 4.5);
    reach.setAttribute("y", y - 13);
    words.setAttribute("y", y - 9);
    words.textContent = percent === wish.percent ? "" : percent + " %";
    group.setAttribute("aria-valuenow", percent);
    group.setAttribute("aria-valuetext", percent + " percent");
  };
  const set = (value) => { percent = Math.min(100, Math.max(0, Math.round(value))); show(); };
  const done = () => {
    if (percent === wish.percent) return;
    doing = true;
    act("energy", {section: wish.section, percent}, wish.name + " now asks for " + percent + " %; the music was chosen anew, and what fits stayed.")
      .then((well) => { doing = false; if (!well) set(wish.percent); });
  };
  group.addEventListener("pointerdown", (event) => { held = true; group.setPointerCapture(event.pointerId); event.preventDefault(); group.focus(); });
  group.addEventListener("pointermove", (event) => {
    if (held) set((picture.floor - place(drawing, event).y) / picture.energy_height * 100);
  });
  group.addEventListener("pointerup", () => {
    if (!held) return;
    held = false;
    if (Math.abs(percent - wish.percent) < 2) set(wish.percent); else done();
  });
  group.addEventListener("blur", () => { if (!held && !doing) set(wish.percent); });
  group.addEventListener("pointercancel", () => { held = false; set(wish.percent); });
  group.addEventListener("keydown", (event) => {
    const by = {ArrowUp: STEP, ArrowRight: STEP, ArrowDown: -STEP, ArrowLeft: -STEP, PageUp: 2 * STEP, PageDown: -2 * STEP}[event.key];
    if (by) { event.preventDefault(); set(percent + by); }
    if (event.key === "Enter") { event.preventDefault(); done(); }
    if (event.key === "Escape") set(wish.percent);
  });
  show();
  return group;
}
