/* The class: its picture, and beside it the chosen track, why it plays there, and what can be done with it. */

import {$, act, asking, button, drawing as drawingOf, fill, h, name, onRoom, onState, Refused, refresh, state} from "./tools.js";
import {say} from "./say.js";
import {choose as chooseMusic} from "./line.js";
import {findings, mendButtons} from "./findings.js";
import {figures, offersFor, onGhosts} from "./offers.js";
import {drawn, showGhosts, showPlayhead} from "./picture.js";
import {choose as chooseInSight, focusTrack} from "./sight.js";
import {hear, hearButton, ofClass, ofJoin, ofTrack, onPlayed} from "./sound.js";

const PREFER = [["balanced", "a bit of everything"], ["close fit", "that the music follows the class closely"], ["whole songs", "whole tracks"],
  ["few changes", "few changes"], ["smooth changes", "smooth changes"], ["even sides", "the same music on both sides"]];
let chosen = 1, picture = null, drawing = null, soundsOf = null;
const ask = asking();

export const chosenTrack = () => (state.set ? state.set.picks[chosen - 1] : null);
export const sectionOf = (pick) => {
  if (!pick || !state.set) return 0;
  const at = (pick.start_s + pick.end_s) / 2, found = state.set.sections.findIndex((section) => at < section.end_s);
  return found < 0 ? state.set.sections.length - 1 : found;
};

const view = $("view-class");
const head = h("div", {class: "headrow"});
const notices = h("div", {});
const figure = h("figure", {class: "class-picture"});
const hearing = h("div", {class: "row hearing"});
const trackBox = h("section", {class: "trackbox", "aria-label": "The chosen track"});
const offerBox = h("section", {class: "others", "aria-label": "What else could play here"});
const found = h("div", {class: "findings"});
const sounds = h("div", {"aria-live": "polite"});
const sounding = h("details", {id: "sounding", ontoggle: () => listen()}, h("summary", {"data-key": "sounding"}, "How the class will sound"), sounds);
view.append(h("h2", {class: "unseen"}, "The class"), head, notices,
  h("div", {class: "beside"}, h("div", {class: "seen"}, figure, hearing), h("div", {class: "chosen"}, trackBox, offerBox)), found, sounding);

export function choose(n, focus = false) {
  chosen = n;
  chooseInSight(n);
  show();
  if (focus) focusTrack(n);
}

export const put = (n, track) => act("swap", {n, track}, "Taken.").then((done) => { if (done) choose(n); return done; });

/* The track that plays at a moment. */
export function chooseAt(at_s) {
  const index = state.set?.picks.findLastIndex((pick) => pick.start_s <= at_s) ?? -1;
  if (state.set?.picks.length) choose(Math.max(index, 0) + 1);
}

function show() {
  if (state.set) chosen = Math.min(Math.max(chosen, 1), Math.max(state.set.picks.length, 1));
  showHead();
  showNotices();
  showPicture();
  showTrack();
  offersFor(offerBox, chosenTrack());
  showFound();
}

/* ---- above ---- */

function showHead() {
  const set = state.set, focused = head.contains(document.activeElement);
  fill(head,
    set && h("p", {class: "facts"}, h("b", {}, set.class), ", " + set.picks.length + " tracks; ", set.fit, "."),
    set && h("div", {class: "row"},
      button("Undo", () => act("undo", {}, "Undone."), {id: "undo", class: "quiet", disabled: !state.undo, title: state.undo ? "Undo " + state.undo : "", "data-key": "undo"}),
      button("Redo", () => act("redo", {}, "Done again."), {id: "redo", class: "quiet", disabled: !state.redo, title: state.redo ? "Do again: " + state.redo : "", "data-key": "redo"})),
    state.plan && choosing(set));
  if (focused && !head.contains(document.activeElement)) head.querySelector(".choosing summary")?.focus({preventScroll: true});
}

/* What was set in it but not done yet stays through changes that others make. */
function choosing(set) {
  const was = head.querySelector(".choosing[open]"), left = was && was.dataset.of === (set ? "set" : "plan") ? was : null;
  const liked = left?.querySelector("#prefer").value || set?.prefer || "balanced";
  const prefer = h("select", {id: "prefer", "data-key": "prefer"}, PREFER.map(([value, words]) => h("option", {value, selected: value === liked}, words)));
  const fresh = h("input", {type: "checkbox", id: "fresh", checked: left?.querySelector("#fresh").checked, "data-key": "fresh"});
  const repeats = h("input", {type: "checkbox", id: "repeats", checked: left ? left.querySelector("#repeats").checked : set?.repeats, "data-key": "repeats"});
  const go = (keep) => {
    say("Choosing the music…");
    chooseMusic(keep, {prefer: prefer.value, fresh: fresh.checked, repeats: repeats.checked});
  };
  return h("details", {class: "choosing", open: !set || Boolean(left), "data-of": set ? "set" : "plan"}, h("summary", {"data-key": set ? "choosing" : "choosing-first"}, set ? "Choose again" : "How to choose"),
    h("div", {class: "fold"},
      h("p", {}, h("label", {}, "What matters most: ", prefer)),
      h("p", {}, h("label", {}, fresh, " not what I played lately")), h("p", {}, h("label", {}, repeats, " a track may play twice")),
      h("div", {class: "row"},
        set && button("Keep what fits", () => go(true), {class: "strong", "data-key": "keep"}),
        button(set ? "Choose all again" : "Choose the music", () => go(false), {id: "pair", "data-key": "pair", class: set ? "" : "strong"})),
      set?.left_out.length ? h("div", {class: "left-out"}, h("p", {class: "soft"}, "Left out of this class:"),
        h("ul", {class: "plain"}, set.left_out.map((track) => h("li", {class: "row"}, name(track.title), button("Let it back", () => act("let_back", {track: track.id}, "It may be chosen again."), {class: "small", "aria-label": "Let " + track.title + " back", "data-key": "back-" + track.id}))))) : null));
}

function showNotices() {
  const set = state.set, gone = set ? set.picks.filter((pick) => pick.gone) : [];
  fill(notices,
    gone.length ? h("p", {class: "notice"}, "Not among your music any more: ", gone.map((pick) => pick.title).join(", "), ". ", h("a", {href: "#music"}, "Add the folder they lie in.")) : null,
    !set && !state.plan ? h("p", {}, "There is no class yet. ", h("a", {href: "#plan"}, "Begin with a plan.")) : null,
    state.library.problem ? h("p", {class: "notice"}, "What is known of your music can’t be read. ", h("a", {href: "#music"}, "See why.")) : null,
    !set && state.plan && !state.library.usable && !state.library.problem ? h("p", {class: "notice"}, "There is no music yet. ", h("a", {href: "#music"}, "Add yours first.")) : null);
}

/* ---- the picture ---- */

function showPicture() {
  const set = state.set;
  if (picture !== state.picture || !drawing) {
    picture = state.picture;
    drawing = picture ? drawn(picture, {track: choose, put, minute: (at_s) => hear(ofClass(at_s))}) : null;
    drawing?.setAttribute("role", "img");
    drawing?.setAttribute("aria-label", "The class over time, its music below it. The strip at the top can be walked through with the arrow keys.");
    drawing?.removeAttribute("aria-labelledby");
    fill(figure, drawing);
  }
  drawing?.querySelectorAll("g[data-n]").forEach((part) => part.classList.toggle("chosen", Number(part.dataset.n) === chosen));
  if (!set) { fill(hearing); return; }
  const was = $("minute")?.value ?? "0";
  const minute = h("input", {id: "minute", type: "number", min: Math.floor(set.origin_s / 60), max: Math.floor(set.class_s / 60), step: "any", value: was, "data-key": "minute"});
  const form = h("form", {class: "row", onsubmit: (event) => { event.preventDefault(); form.querySelector("#play-class").click(); }},
    h("label", {}, "Hear the class from minute ", minute), playFrom(() => minute.valueAsNumber || 0));
  if (!hearing.contains(document.activeElement) && !hearing.querySelector(".hear.on")) fill(hearing, form);
}

/* The minute is read when it is pressed. */
function playFrom(minute) {
  const sound = {...ofClass(0), get key() { return "minute"; }, get at() { return 60 * minute(); }};
  return hearButton(sound, "Play", {id: "play-class", "data-key": "play-class", "aria-label": "Play the class from this minute"});
}

onGhosts((ghosts) => showGhosts(drawing, ghosts));

/* ---- the chosen track ---- */

function showTrack() {
  const pick = chosenTrack();
  if (!pick) { fill(trackBox); return; }
  const count = state.set.picks.length;
  fill(trackBox,
    h("div", {class: "walk"},
      button("‹", () => choose(pick.n - 1), {class: "quiet", disabled: pick.n === 1, "data-key": "before", "aria-label": "The track before"}),
      h("p", {class: "place"}, pick.place + " ", h("span", {class: "soft"}, pick.at + ", plays " + pick.plays)),
      button("›", () => choose(pick.n + 1), {class: "quiet", disabled: pick.n === count, "data-key": "next-track", "aria-label": "The next track"})),
    h("h3", {}, name(pick.title), pick.artist ? h("span", {class: "by"}, " ", name(pick.artist)) : null),
    h("div", {class: "shapeline"}, drawingOf(pick.shape), h("p", {}, [pick.temper, pick.against, pick.voice].filter(Boolean).join(", "))),
    h("p", {class: "soft why"}, pick.why ? "Why here: " + pick.why + "." : "You put it here."),
    h("div", {class: "row"},
      hearButton(ofJoin(pick.n, pick.title), "Hear the change", {id: "hear-join", "data-key": "hear-join", class: "strong", "aria-label": "Hear the change into " + pick.title}),
      button(pick.pinned ? "Kept here" : "Keep it here", () => act("pin", {n: pick.n, pinned: !pick.pinned}, pick.pinned ? "It may change again." : "It stays, whatever else changes."), {id: "pin", "data-key": "pin", "aria-pressed": String(pick.pinned)}),
      button("Leave it out", () => act("drop", {n: pick.n}, "Left out of this class; another track fills its place."), {id: "drop", "data-key": "drop"})),
    asked(pick),
    h("details", {}, h("summary", {"data-key": "more-track"}, "Hear more, and the figures"),
      h("div", {class: "fold"}, h("div", {class: "row"},
        hearButton(ofTrack({id: pick.track, title: pick.title}, pick.from_s, pick.n), "This track alone", {"data-key": "hear-track"}),
        hearButton(ofClass(pick.start_s), "The class from here", {"data-key": "hear-class"})), figures(pick.figures))));
}

/* How lively the music of the track's part of the class shall be: pressed, it is written into the plan. */
function asked(pick) {
  const index = sectionOf(pick), section = state.set.sections[index];
  if (!state.plan || section.asks === null) return null;
  return h("div", {class: "asked", role: "group", "aria-label": "How lively the music of " + section.name + " should be"},
    h("p", {class: "soft"}, "In ", name(section.name), " the music should be"),
    h("div", {class: "tempers"}, state.tempers.map(({word, percent}) => button(word, () => {
      if (word !== section.asks) act("energy", {section: index, percent}, "The music of " + section.name + " is to be " + word + " from now on. The plan says so too.");
    }, {class: "temper", "aria-pressed": String(word === section.asks), "data-key": "temper-" + word}))));
}

/* ---- below ---- */

function showFound() {
  listen();
  const list = state.set?.findings || [];
  fill(found, findings(list, (finding) => mendButtons(finding, go)));
}

/* Part by part: how loud, how sudden, what sounds on from before. The first time the recordings are listened to. */
async function listen() {
  sounding.hidden = !state.set;
  if (!sounding.open || !state.set || soundsOf === state.set.mark) return;
  soundsOf = state.set.mark;
  fill(sounds, h("p", {class: "soft"}, "Listening to the tracks…"));
  try {
    const answer = await ask("/heard");
    if (!answer) return; // the class has changed, and is listened to as it is now
    if (answer.mark !== state.set?.mark) { soundsOf = null; return; }
    fill(sounds, h("ul", {class: "plain", id: "heard-lines"}, answer.lines.map((line) => h("li", {}, h("b", {}, line.at, " ", name(line.name)), ": ", name(line.words)))),
      h("p", {class: "soft"}, answer.whole), findings(answer.findings, (finding) => mendButtons(finding, go)));
    refresh();
  } catch (problem) {
    soundsOf = null;
    fill(sounds, h("p", {}, problem instanceof Refused ? problem.message : "This could not be listened to."));
  }
}

function go(place) {
  location.hash = place.view;
  if (place.view !== "class") return;
  if (place.n) { choose(place.n); offerBox.scrollIntoView({block: "center"}); return; }
  const fold = head.querySelector(".choosing");
  if (fold) { fold.open = true; fold.querySelector("summary").focus(); }
}

onState((after, before) => {
  if (after.set?.mark !== before.set?.mark && after.set) chooseInSight(Math.min(chosen, after.set.picks.length));
  if (!view.hidden) show();
});
onRoom(() => refresh().catch(() => {}));
onPlayed((at) => { showPlayhead(drawing, at); });
export {show as showClass};
