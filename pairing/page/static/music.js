/* The class: its picture, the chosen track with why it is there, and what else could stand in its place. */

import {$, act, button, fill, get, h, minutes, name, onSize, onState, Refused, refresh, say, state} from "./tools.js";
import {carries} from "./carry.js";
import {drawn, showGhost, showPlayhead} from "./picture.js";
import {hearClass, hearJoin, hearTrack, onPlayed} from "./player.js";

const WISHES = [["", "Any"], ["quieter", "Quieter"], ["livelier", "Livelier"], ["longer", "Longer"]];
const PREFER = ["balanced", "close fit", "whole songs", "few changes", "smooth changes", "even sides"];
let chosen = 1, wish = "", drawing = null, picture = null, offered = null, asking = null;

export const chosenPick = () => (state.set ? state.set.picks[chosen - 1] : null);
export const sectionOf = (pick) => {
  if (!pick || !state.set) return 0;
  const at = (pick.start_s + pick.end_s) / 2;
  const found = state.set.sections.findIndex((section) => at < section.end_s);
  return found < 0 ? state.set.sections.length - 1 : found;
};

const view = $("view-class");
const figure = h("figure", {class: "class-picture"});
const head = h("div", {class: "strip"});
const notices = h("div", {class: "notices"});
const pickBox = h("section", {class: "pickbox", "aria-label": "The chosen track"});
const otherBox = h("section", {class: "others", "aria-label": "What else could play here"});
const found = h("div", {});
const sounds = h("div", {"aria-live": "polite"});
const sounding = h("details", {id: "sounding", ontoggle: () => listen()}, h("summary", {"data-key": "sounding"}, "How the class will sound"), sounds);
view.append(head, notices, figure, h("div", {class: "two"}, pickBox, otherBox), found, sounding);
let soundsOf = null; // the state of the set whose sound is told

function choose(n, focus = false) {
  chosen = n;
  offered = null;
  show();
  if (focus) drawing?.querySelector('[data-n="' + n + '"]')?.focus();
}

export const put = (n, track) => act("swap", {n, track}, "Track " + n + " is another one now.").then((done) => { if (done) { chosen = n; } });

function show() {
  if (state.set) chosen = Math.min(Math.max(chosen, 1), Math.max(state.set.picks.length, 1));
  showHead();
  showNotices();
  showPicture();
  showPick();
  showOthers();
  showFound();
}

function showHead() {
  const set = state.set, was = $("minute")?.value ?? "0";
  const minute = h("input", {id: "minute", type: "number", min: set ? Math.floor(set.origin_s / 60) : 0, max: set ? Math.floor(set.class_s / 60) : 0, step: "any", value: was, "data-key": "minute"});
  fill(head,
    set && h("p", {class: "facts"}, h("b", {}, set.class), " with " + set.picks.length + " tracks; ", set.fit, set.rest ? "; rest " + set.rest : ""),
    h("div", {class: "row"},
      set && button("Undo", () => act("undo", {}, "Taken back."), {id: "undo", disabled: !state.undo, title: state.undo ? "Take back " + state.undo : "", "data-key": "undo"}),
      set && button("Redo", () => act("redo", {}, "Done again."), {id: "redo", disabled: !state.redo, title: state.redo ? "Do again: " + state.redo : "", "data-key": "redo"}),
      set && h("form", {class: "row", onsubmit: (event) => { event.preventDefault(); hearClass(60 * (minute.valueAsNumber || 0)); }},
        h("button", {type: "submit", id: "play-class", "data-key": "play-class"}, "Play the class"), h("label", {}, "from minute ", minute)),
      state.plan && pairing(set)));
}

/* What was chosen in it but not yet done stays through changes that others make. */
function pairing(set) {
  const was = head.querySelector(".pairing[open]"), kept = was && was.dataset.of === (set ? "set" : "plan") ? was : null;
  const liked = kept?.querySelector("#prefer").value || set?.prefer || "balanced";
  const prefer = h("select", {id: "prefer", "data-key": "prefer"}, PREFER.map((word) => h("option", {value: word, selected: word === liked}, word)));
  const fresh = h("input", {type: "checkbox", id: "fresh", checked: kept?.querySelector("#fresh").checked, "data-key": "fresh"});
  const repeats = h("input", {type: "checkbox", id: "repeats", checked: kept ? kept.querySelector("#repeats").checked : set?.repeats, "data-key": "repeats"});
  const go = (keep) => {
    say("Choosing the music…");
    act("pair", {prefer: prefer.value, fresh: fresh.checked, repeats: repeats.checked, keep}, keep ? "Chosen anew; what fits stayed." : "The music is chosen.");
  };
  return h("details", {class: "pairing", open: !set || Boolean(kept), "data-of": set ? "set" : "plan"}, h("summary", {"data-key": "pairing"}, set ? "Choose anew" : "Choose the music"),
    h("div", {class: "row"},
      h("label", {}, "Prefer ", prefer), h("label", {}, fresh, " avoid what was played lately"), h("label", {}, repeats, " a track may play twice"),
      set && button("Keep what fits", () => go(true), {"data-key": "keep"}),
      button(set ? "All anew" : "Choose the music", () => go(false), {id: "pair", "data-key": "pair", class: set ? "" : "strong"})),
    set?.left_out.length ? h("div", {class: "row left-out"}, h("span", {class: "soft"}, "Left out of this class:"),
      set.left_out.map((track) => button(["Let ", name(track.title), " back"], () => act("let_back", {track: track.id}, "It may be chosen again."), {class: "small", "data-key": "back-" + track.id}))) : null);
}

function showNotices() {
  const set = state.set;
  fill(notices,
    set && !set.same_plan && h("p", {class: "notice"}, "The plan has changed since this music was chosen. ",
      button("Choose anew, keep what fits", () => { say("Choosing the music…"); act("pair", {keep: true}, "Chosen anew; what fits stayed."); }, {"data-key": "repair"})),
    set && set.picks.some((pick) => pick.gone) && h("p", {class: "notice"}, "Some tracks of this set are not in the library: ",
      set.picks.filter((pick) => pick.gone).map((pick) => pick.title).join(", "), ". Scan the folder they lie in."),
    !set && !state.plan && h("p", {}, "There is no class yet. ", h("a", {href: "#plan"}, "Start with a plan.")),
    state.library.problem && h("p", {class: "notice"}, "The library can’t be read. ", h("a", {href: "#library"}, "See why.")),
    !set && state.plan && !state.library.usable && !state.library.problem && h("p", {class: "notice"}, "The library holds no music yet. ", h("a", {href: "#library"}, "Scan a folder first.")));
}

function showPicture() {
  picture = state.picture;
  if (!picture) { figure.replaceChildren(); drawing = null; return; }
  const key = figure.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  drawing = drawn(picture, chosen, state.set ? {pick: choose, put, minute: hearClass} : {pick() {}, put() {}, minute() {}});
  drawing.setAttribute("aria-label", "The class over time: arc, music and tracks");
  drawing.setAttribute("role", "group");
  figure.replaceChildren(drawing, h("figcaption", {}, state.set
    ? "The line is the arc: what the class asks of the music. The shaded ground is the music. Point at a track below to change it; drag a section’s small bar up or down to ask for livelier or calmer music there; press twice on the curves to hear the class from there."
    : "The line is the arc: what the class asks of the music. The dotted line is the effort felt."));
  if (key) figure.querySelector('[data-key="' + key + '"]')?.focus({preventScroll: true});
}

/* ---- the chosen track ---- */

function showPick() {
  const pick = chosenPick();
  if (!pick) { fill(pickBox); return; }
  fill(pickBox,
    h("h2", {}, h("span", {class: "n"}, String(pick.n)), name(pick.title)),
    pick.artist ? h("p", {class: "by"}, name(pick.artist)) : null,
    h("p", {class: "why"}, h("b", {}, "Why here: "), pick.why || "it was put here by hand", "."),
    h("dl", {class: "pairs"},
      pair("From", pick.at + " of the class, in " + pick.section), pair("Plays", pick.plays + (pick.from_s >= 1 ? ", from " + pick.from + " of the track" : "")),
      pick.energy !== null && pair("Energy", pick.energy + " %")),
    h("div", {class: "row"},
      button("Hear the change into it", () => hearJoin(pick.n, pick.title), {id: "hear-join", "data-key": "hear-join", class: "strong"}),
      button("Hear it alone", () => hearTrack({id: pick.track, title: pick.title, loudness: pick.loudness}, pick.from_s), {"data-key": "hear-track"}),
      button("Play the class from here", () => hearClass(pick.start_s), {"data-key": "hear-class"})),
    h("div", {class: "row"},
      button(pick.pinned ? "Let go" : "Pin", () => act("pin", {n: pick.n, pinned: !pick.pinned}, pick.pinned ? "It may be changed again." : "It stays whatever changes."), {id: "pin", "data-key": "pin", "aria-pressed": String(pick.pinned), title: pick.pinned ? "Let it be changed again" : "Keep it whatever changes later"}),
      button("Leave it out", () => act("drop", {n: pick.n}, "Left out of this class; another one fills its place."), {id: "drop", "data-key": "drop"}),
      button("Before", () => choose(pick.n - 1), {disabled: pick.n === 1, "data-key": "before", "aria-label": "The track before"}),
      button("Next", () => choose(pick.n + 1), {disabled: pick.n === state.set.picks.length, "data-key": "next", "aria-label": "The next track"})));
}

const pair = (key, value) => h("div", {}, h("dt", {}, key), h("dd", {}, value));

/* ---- what else could stand there ---- */

async function showOthers() {
  const pick = chosenPick();
  if (!pick) { fill(otherBox); return; }
  const key = state.set.mark + " " + pick.n + " " + wish + " " + state.library.usable;
  if (offered?.key !== key) {
    asking?.abort();
    asking = new AbortController();
    offered = null;
    showOffered(pick);  // what was offered for another track must not stand under this one
    try {
      const answer = await get("/alternatives/" + pick.n + (wish ? "?wish=" + wish : ""), asking.signal);
      offered = {key, list: answer.alternatives};
    } catch (problem) {
      if (problem.name === "AbortError") return;
      if (!(problem instanceof Refused)) throw problem;
      offered = {key, list: [], problem: problem.message};
    }
  }
  if (chosenPick()?.n === pick.n) showOffered(pick);
}

function showOffered(pick) {
  showGhost(drawing, picture, null);
  fill(otherBox,
    h("h2", {}, "Instead of it"),
    h("div", {class: "row wishes", role: "group", "aria-label": "What kind of music"}, WISHES.map(([value, words]) =>
      button(words, () => { wish = value; offered = null; showOthers(); }, {"aria-pressed": String(value === wish), "data-key": "wish-" + words}))),
    offered ? null : h("p", {}, "Looking through your music …"),
    offered?.problem ? h("p", {}, offered.problem) : null,
    offered && !offered.problem && !offered.list.length ? h("p", {}, wish ? "Nothing of that kind can stand here." : "Nothing else in the library can stand here under the plan’s wishes.") : null,
    h("ol", {class: "offers"}, (offered?.list ?? []).map((other) => offer(pick, other))));
}

function offer(pick, other) {
  const ghost = () => showGhost(drawing, picture, other.ghost);
  const away = () => showGhost(drawing, picture, null);
  const item = h("li", {class: "offer", onmouseenter: ghost, onmouseleave: away, onfocusin: ghost, onfocusout: away},
    h("div", {}, h("p", {}, h("b", {}, name(other.title)), other.artist ? h("span", {class: "by"}, " ", name(other.artist)) : null, " ", h("span", {class: "soft"}, other.length)),
      h("p", {class: "soft"}, other.effect)),
    h("div", {class: "row"},
      button("Hear", () => hearTrack(other, other.from_s), {"aria-label": "Hear " + other.title + " from where it would come in", "data-key": "hear-" + other.id}),
      button("Hear the change", () => hearJoin(pick.n, other.title, other.id), {"aria-label": "Hear the change into " + other.title, "data-key": "join-" + other.id}),
      button("Take it", () => put(pick.n, other.id), {class: "strong", "aria-label": "Take " + other.title, "data-key": "take-" + other.id})));
  carries(item, other.id);
  return item;
}

function showFound() {
  listen();
  const list = state.set?.findings || [];
  fill(found, list.length ? h("section", {class: "findings", "aria-labelledby": "set-found"}, h("h2", {id: "set-found"}, "What the checks found"), findings(list, mend)) : null);
}

/* Part by part: how loud, how sudden, what sounds on from before. The first time the recordings are listened to. */
async function listen() {
  sounding.hidden = !state.set;
  if (!sounding.open || !state.set || soundsOf === state.set.mark) return;
  soundsOf = state.set.mark;
  fill(sounds, h("p", {class: "soft"}, "Listening to the tracks…"));
  try {
    const answer = await get("/heard");
    if (answer.mark !== state.set?.mark) { soundsOf = null; return; }
    fill(sounds, h("ul", {class: "plain", id: "heard-lines"}, answer.lines.map((line) => h("li", {}, h("b", {}, line.at, " ", name(line.name)), ": ", name(line.words)))),
      h("p", {class: "soft"}, answer.whole), answer.findings.length ? h("div", {class: "findings"}, findings(answer.findings, mend)) : null);
  } catch (problem) {
    soundsOf = null;
    fill(sounds, h("p", {}, problem instanceof Refused ? problem.message : "This could not be listened to."));
  }
}

/* A button to each place where something helps against a finding. */
function mend(finding) {
  const key = "mend-" + finding.code + finding.where;
  return finding.mends.flatMap((place) => [" ", button("Go to " + place.label, () => go(place), {class: "small", "data-key": key + place.label})]);
}

function go(place) {
  location.hash = place.view;
  if (place.view !== "class") return;
  if (place.n) { choose(place.n); otherBox.scrollIntoView({block: "center"}); return; }
  const anew = head.querySelector(".pairing");
  if (anew) { anew.open = true; anew.querySelector("summary").focus(); }
}

/* Where it is; the plan's own name says nothing on the page of that plan. */
function whereOf(finding) {
  const where = finding.where === state.plan?.name ? "" : finding.where.replace(state.plan?.name + ", ", "");
  return where ? h("span", {}, name(where), ": ") : null;
}

export function findings(list, extra = () => null) {
  return h("ul", {}, list.map((finding) => h("li", {class: finding.level}, h("b", {}, finding.level),
    h("span", {}, whereOf(finding), name(finding.message), finding.remedy ? h("i", {}, " ", name(finding.remedy)) : null, extra(finding)))));
}

onState((after, before) => {
  if (after.set?.mark !== before.set?.mark || after.library.usable !== before.library.usable) offered = null;
  if (!view.hidden) show();
});
onSize(() => refresh().catch(() => {}));
onPlayed((at) => { if (drawing && picture) showPlayhead(drawing, picture, at); });
export {choose, show as showClass};
