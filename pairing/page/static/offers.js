/* What else could play in a track's place: how it would lie there, heard there, compared, taken. */

import {act, asking, button, drawing, fill, h, name, onState, Refused, state} from "./tools.js";
import {carries} from "./carry.js";
import {hearButton, ofJoin, ofTrack} from "./sound.js";

const WISHES = [["", "any"], ["quieter", "calmer"], ["livelier", "livelier"], ["longer", "longer"]];
const ask = asking();
let box = null, pick = null, wish = "", offered = null, two = [];
let ghosts = () => {};
export const onGhosts = (action) => { ghosts = action; };

/* Shows in `element` what could play instead of a track of the class. */
export function offersFor(element, chosen) {
  if (pick?.n !== chosen?.n) two = [];
  [box, pick] = [element, chosen];
  if (!pick) { fill(box); return; }
  load();
}

const take = (other) => act("swap", {n: pick.n, track: other.id}, "“" + other.title + "” plays there now.");

async function load() {
  if (!pick || !state.set) return;
  const n = pick.n, key = [state.set.mark, n, wish, state.library.usable].join(" ");
  if (offered?.key !== key) {
    if (offered?.n !== n) offered = null; // what was offered for another track must not stand under this one
    showOffers();
    try {
      const answer = await ask("/alternatives/" + n + (wish ? "?wish=" + wish : ""));
      if (answer === null) return;
      offered = {key, n, list: answer.alternatives};
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      offered = {key, n, list: [], problem: problem.message};
    }
    if (!pick) return; // the class was closed meanwhile
    two = two.filter((id) => offered.list.some((other) => other.id === id));
  }
  showOffers();
}

function showOffers() {
  ghosts(twoOf().map((other) => other.ghost));
  fill(box,
    h("div", {class: "headrow"}, h("h3", {}, "What else could play here"),
      h("div", {class: "wishes", role: "group", "aria-label": "What kind of music"}, WISHES.map(([value, words]) =>
        button(words, () => { wish = value; load(); }, {class: "quiet", "aria-pressed": String(value === wish), "data-key": "wish-" + words})))),
    offered ? null : h("p", {class: "soft"}, "Looking through your music…"),
    offered?.problem ? h("p", {}, offered.problem) : null,
    offered && !offered.problem && !offered.list.length ? h("p", {}, wish ? "Nothing of that kind can play here." : "Nothing else of your music can play here, as the plan is.") : null,
    comparison(),
    h("ol", {class: "offers"}, (offered?.list ?? []).map(offer)));
}

const twoOf = () => two.map((id) => offered?.list.find((other) => other.id === id)).filter(Boolean);

/* Two side by side, heard one after the other at the same place. */
function comparison() {
  const both = twoOf();
  if (both.length < 2) return two.length ? h("p", {class: "soft"}, "Choose a second one to compare.") : null;
  return h("div", {class: "compared", role: "group", "aria-label": "Two compared"},
    both.map((other, index) => h("div", {class: "one" + (index ? " two" : "")}, h("h4", {}, name(other.title)), drawing(other.shape),
      h("p", {class: "soft"}, words(other)), button("Take this one", () => take(other), {class: "strong small", "aria-label": "Take " + other.title, "data-key": "two-" + other.id}))),
    h("div", {class: "row"}, hearButton(both.map((other) => ofJoin(pick.n, other.title, other.id)), "Hear one, then the other", {"data-key": "hear-both"}),
      button("Done comparing", () => { two = []; showOffers(); }, {class: "quiet", "data-key": "compared"})));
}

const words = (other) => [other.against ?? other.temper, other.voice, other.effect].filter(Boolean).join("; ");

function offer(other) {
  const show = () => ghosts([other.ghost, ...twoOf().map((each) => each.ghost)].slice(0, 2));
  const hide = () => ghosts(twoOf().map((each) => each.ghost));
  const more = further(other), item = h("li", {class: "offer", onmouseenter: show, onmouseleave: hide, onfocusin: show, onfocusout: hide},
    h("p", {class: "name"}, h("b", {}, name(other.title)), other.artist ? h("span", {class: "by"}, " ", name(other.artist)) : null),
    h("div", {class: "row do"},
      hearButton(ofJoin(pick.n, other.title, other.id), "Hear it here", {class: "small", "aria-label": "Hear the change into " + other.title, "data-key": "join-" + other.id}),
      button("Take it", () => take(other), {class: "small take", "aria-label": "Take " + other.title, "data-key": "take-" + other.id}),
      button("…", (event) => unfold(event.currentTarget, more), {class: "small quiet", "aria-expanded": "false", "aria-label": "More about " + other.title, "data-key": "more-" + other.id})),
    drawing(other.shape), h("p", {class: "soft words"}, words(other)), more);
  carries(item, other.id);
  return item;
}

/* What else can be done with an offer, and its figures. */
function further(other) {
  return h("div", {class: "fold", hidden: true}, h("div", {class: "row"},
    button("Compare", () => compare(other.id), {class: "small", "aria-pressed": String(two.includes(other.id)), "aria-label": "Compare " + other.title, "data-key": "compare-" + other.id}),
    hearButton(ofTrack(other, other.from_s, pick.n), "Hear it alone", {class: "small", "aria-label": "Hear " + other.title + " alone", "data-key": "hear-" + other.id})),
    figures(other.figures));
}

function unfold(control, body) {
  body.hidden = !body.hidden;
  control.setAttribute("aria-expanded", String(!body.hidden));
}

export const figures = (list) => h("dl", {class: "pairs"}, list.map(([key, value]) => h("div", {}, h("dt", {}, key), h("dd", {}, value))));

function compare(id) {
  two = two.includes(id) ? two.filter((each) => each !== id) : [...two, id].slice(-2);
  showOffers();
}

onState((after, before) => { if (after.set?.mark !== before.set?.mark) two = []; });
