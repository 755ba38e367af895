/* The class in sight, at the top of every view: drawn again at each change, what changed marked for some seconds. */

import {$, drawing, fill, minutes, onState, state, svg} from "./tools.js";
import {takes} from "./carry.js";
import {onPlayed} from "./sound.js";

const MARKED_MS = 6000;
const sight = $("sight");
let strip = null, chosen = 1, typed = null, played = null;
let handlers = {track() {}, moment() {}, put() {}};
export const onSight = (given) => { handlers = given; };

/* Which track is looked at; it stands out in the strip. */
export function choose(n) {
  chosen = n;
  for (const part of parts()) look(part);
}
export function focusTrack(n) { strip?.querySelector('.pick[data-n="' + n + '"]')?.focus({preventScroll: true}); }

/* While a plan is typed, the strip is that of the plan as it stands there; null: that of the class again. */
export function showTyped(text) {
  typed = text;
  show();
}

const parts = () => [...(strip?.querySelectorAll(".pick") ?? [])];

function show(marks = {tracks: [], sections: []}) {
  const text = typed ?? state.strip;
  sight.hidden = !text;
  if (!text) { strip = null; fill(sight); return; }
  strip = drawing(text);
  strip.setAttribute("role", "group");
  for (const words of strip.querySelectorAll("text")) words.setAttribute("aria-hidden", "true");
  for (const part of strip.querySelectorAll("g[data-n]")) track(part);
  for (const section of strip.querySelectorAll("g[data-section]")) section.addEventListener("click", (event) => handlers.moment(second(event), Number(section.dataset.section)));
  for (const n of marks.tracks) strip.querySelector('g[data-n="' + n + '"]')?.classList.add("changed");
  for (const index of marks.sections) strip.querySelector('g[data-section="' + index + '"]')?.classList.add("changed");
  if (marks.tracks.length || marks.sections.length) {
    const marked = strip;
    setTimeout(() => { for (const part of marked.querySelectorAll(".changed")) part.classList.remove("changed"); }, MARKED_MS);
  }
  strip.append(svg("path", {class: "playhead", d: ""}));
  fill(sight, strip);
  showPlayhead();
}

function track(part) {
  const n = Number(part.dataset.n), pick = state.set?.picks[n - 1];
  if (!pick) return;
  part.classList.add("pick");
  part.setAttribute("role", "button");
  part.dataset.key = "sight-" + n;
  look(part);
  part.addEventListener("click", () => handlers.track(n));
  part.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); handlers.track(n); }
    const count = state.set.picks.length, other = {ArrowLeft: n - 1, ArrowRight: n + 1, Home: 1, End: count}[event.key];
    if (other && other >= 1 && other <= count) { event.preventDefault(); handlers.track(other); focusTrack(other); }
  });
  takes(part, (id) => handlers.put(n, id));
}

function look(part) {
  const n = Number(part.dataset.n), pick = state.set?.picks[n - 1];
  part.classList.toggle("chosen", n === chosen);
  part.setAttribute("tabindex", n === chosen ? "0" : "-1");
  part.setAttribute("aria-pressed", String(n === chosen));
  if (pick) part.setAttribute("aria-label", pick.title + ", " + pick.place + ", at " + minutes(pick.start_s) + (pick.pinned ? ", kept" : ""));
}

/* ---- places in the drawing ---- */

const of = (name) => Number(strip.dataset[name]);
const across = (at_s) => of("left") + (at_s - of("startS")) / (of("endS") - of("startS")) * (of("right") - of("left"));

function second(event) {
  const box = strip.getBoundingClientRect(), x = (event.clientX - box.left) / box.width * strip.viewBox.baseVal.width;
  return of("startS") + (x - of("left")) / (of("right") - of("left")) * (of("endS") - of("startS"));
}

function showPlayhead() {
  const line = strip?.querySelector(".playhead");
  if (line) line.setAttribute("d", played === null ? "" : "M" + across(played).toFixed(1) + " " + of("top") + "V" + of("bottom"));
}
onPlayed((at) => { played = at; showPlayhead(); });

/* ---- what changed ---- */

const played_as = (pick) => [pick.track, pick.start_s.toFixed(1), pick.end_s.toFixed(1), pick.from_s.toFixed(1)].join(" ");
const lasts_as = (section) => [section.name, (section.end_s - section.start_s).toFixed(0), section.asks].join(" ");
const apart = (after, before, said) => after.flatMap((each, index) => (before[index] && said(each) === said(before[index]) ? [] : [index]));

onState((after, before) => {
  if (after.set?.mark !== before.set?.mark || after.set?.same_plan || after.plan?.name !== before.plan?.name) typed = null;
  if (typed === null && after.strip === before.strip && strip) { for (const part of parts()) look(part); return; }
  const both = after.set && before.set && after.set.mark !== before.set.mark;
  show(both ? {
    tracks: apart(after.set.picks, before.set.picks, played_as).map((index) => index + 1),
    sections: apart(after.set.sections, before.set.sections, lasts_as),
  } : undefined);
});
show();
