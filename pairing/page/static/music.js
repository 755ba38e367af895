/* Your music: a list in words, what serves a part of the class first; a row opens to what can be done with it. */

import {$, act, asking, button, drawing, fill, get, h, keeping, name, onState, Refused, state} from "./tools.js";
import {say} from "./say.js";
import {carries} from "./carry.js";
import {chosenTrack, put, sectionOf} from "./class.js";
import {addMusic, closeAdding, openAdding} from "./folders.js";
import {figures} from "./offers.js";
import {hearButton, ofTrack} from "./sound.js";

const view = $("view-music");
const words = h("input", {id: "words", type: "search", placeholder: "a title, an artist, a file", "aria-label": "Look for a track", autocomplete: "off"});
const section = h("select", {id: "section", "aria-label": "For which part of the class"});
const unread = h("div", {});
const supply = h("section", {class: "supply", "aria-label": "How much there is, and how much the class needs"});
const list = h("ol", {class: "tracks", id: "tracks"});
const more = h("p", {});
const bad = h("div", {});
const count = h("p", {class: "soft", role: "status", id: "count"});
const seek = h("div", {class: "row seek"}, h("label", {}, "For ", section), words);
view.append(h("h2", {class: "unseen"}, "Your music"), unread, addMusic, supply, seek, count, list, more, bad);

const ask = asking();
let waiting = 0, want = null, of = null, temper = "", opened = null, placed = null;
let wanted = 0; // rows that shall be shown; 0: as many as come at once
let drawn = new Map(); // rows of the list by track: what was told of it, and its element
let order = null; // of the whole list, of which these are the first rows

words.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(find, 120); });
section.addEventListener("change", () => { want = section.value; find(); });

export function showMusic() {
  const pick = chosenTrack(), key = pick ? pick.n + " " + pick.track : "";
  const other = want === null || key !== of;
  if (other) want = pick ? String(sectionOf(pick)) : "0";
  of = key;
  showProblem();
  if (other) find(); else load();
}

/* What can't be read is left as it is until somebody decides. */
function showProblem() {
  const library = state.library;
  if (!library.usable && !library.unusable && !library.problem) openAdding();
  fill(unread, library.problem ? h("div", {class: "notice"}, h("p", {}, name(library.problem), " It was left as it is."),
    library.can_set_aside ? h("p", {}, button("Set it aside and begin again", () => act("set_aside", {}, "Set aside under another name. Now add your music again."), {id: "set-aside", class: "strong"}),
      " Your marks and the classes you taught are kept as far as they can be read.") : null) : null);
}

/* Another list, from its top. */
function find() {
  wanted = 0;
  load();
}

/* A load that comes before the answer of this one asks for its rows too. */
function showMore(step) {
  wanted = drawn.size + step;
  load(drawn.size);
}

/* The list as it is now, or the rows that follow those that are shown: all of them where the list is another by now. */
async function load(shown = 0) {
  try {
    const answer = await ask("/music?section=" + (want ?? "0") + "&words=" + encodeURIComponent(words.value) + "&temper=" + temper + "&shown=" + shown + "&rows=" + Math.max(wanted - shown, 0));
    if (answer === null) return;
    if (shown && answer.order !== order) await load(); else show(answer, shown);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
  }
}

function show(answer, shown) {
  order = answer.order;
  const options = [["", "any part, by name"], ...answer.sections.map((title, index) => [String(index), title])];
  if (section.options.length !== options.length || [...section.options].some((option, index) => option.textContent !== options[index][1])) {
    section.replaceChildren(...options.map(([value, title]) => h("option", {value}, title)));
  }
  seek.hidden = !state.library.usable && !state.library.unusable;
  section.value = answer.section === null ? "" : String(answer.section);
  count.textContent = told(answer);
  showSupply(answer.supply, answer.tempers);
  showRows(shown ? [...[...drawn.values()].map((each) => each.track), ...answer.tracks] : answer.tracks);
  fill(more, answer.more ? button("Show more (" + answer.more + ")", () => showMore(answer.step), {"data-key": "more"}) : null);
  showBad(answer.unusable);
}

/* A row of which nothing is new stays the element it is: what one has begun in it goes on while music is listened to. */
function showRows(tracks) {
  const before = drawn, set = [state.set?.mark, chosenTrack()?.n];
  drawn = new Map(tracks.map((track) => {
    const told = JSON.stringify([track, set]), was = before.get(track.id);
    return [track.id, was?.told === told ? was : {told, track, item: row(track)}];
  }));
  const items = [...drawn.values()].map((each) => each.item), stays = new Set(items);
  keeping(list, () => {
    [...list.children].filter((item) => !stays.has(item)).forEach((item) => item.remove());
    items.forEach((item, at) => { if (list.children[at] !== item) list.insertBefore(item, list.children[at] ?? null); });
  });
}

function told(answer) {
  if (!answer.count) return state.library.problem || (!state.library.usable && !words.value) ? "" : "No track is like that.";
  const tracks = answer.count === 1 ? "1 track" : answer.count + " tracks";
  return tracks + (temper ? ", " + temper : "") + (answer.section === null ? "." : "; what serves " + answer.sections[answer.section] + " best comes first.");
}

/* ---- how much there is ---- */

/* Pressed, the list holds that music alone. */
function showSupply(known, tempers) {
  supply.hidden = !state.library.usable;
  if (supply.hidden) return;
  const shown = drawing(known.map);
  shown.querySelectorAll("[data-temper]").forEach((part) => part.addEventListener("click", () => only(part.dataset.temper)));
  fill(supply,
    known.asked ? h("p", {}, known.short.length ? [h("b", {}, "Too little " + known.short.join(" and ") + " music"), " for what this class asks for."] : "There is enough of each kind for this class.") : null,
    shown,
    h("div", {class: "tempers", role: "group", "aria-label": "Only music of one temper"}, ["", ...tempers].map((word) =>
      button(word || "all", () => only(word, true), {class: "temper", "aria-pressed": String(word === temper), "data-key": "only-" + word}))));
}

function only(word, same = false) {
  temper = same || word !== temper ? word : "";
  find();
}

/* ---- a row ---- */

function row(track) {
  const body = h("div", {class: "fold", hidden: true}), pick = chosenTrack();
  const control = h("button", {type: "button", class: "opens", "aria-expanded": "false", "data-key": "open-" + track.id, onclick: () => open(track, body, control)},
    h("span", {class: "name"}, h("b", {}, name(track.title)), track.artist ? h("span", {class: "by"}, " ", name(track.artist)) : null),
    h("span", {class: "words"}, [track.length, track.temper, track.voice, track.loudness, ...marked(track.marks)].filter(Boolean).join(", ")));
  const item = h("li", {class: "track-row" + (track.may === false ? " barred" : "") + (track.plays ? " plays" : "")},
    hearButton(ofTrack(track), "", {class: "round", "aria-label": "Hear " + track.title, "data-key": "hear-" + track.id}),
    drawing(track.shape),
    h("div", {class: "what"}, control, h("p", {class: "why"}, track.plays ? [h("b", {}, "Plays " + track.plays), track.why ? "; " : ""] : null, track.why ? name(track.why) : null)),
    body);
  if (pick) carries(item, track.id);
  if (opened === track.id) open(track, body, control);
  return item;
}

function marked(marks) {
  const said = {favourite: () => "a favourite", energy: (value) => "you hear it at " + value + " of 100", voice: (value) => (value === "no" ? "no voice, you say" : "sung, you say"),
    rest: (value) => (value === "never" ? "never in a rest" : "good for a rest"), use: () => "never in a class", beat: (value) => "beat " + value + " a minute, you say"};
  return Object.entries(marks).map(([key, value]) => said[key]?.(value) ?? key);
}

async function open(track, body, control) {
  if (!body.hidden) { opened = null; body.hidden = true; control.setAttribute("aria-expanded", "false"); return; }
  if (opened !== track.id) placed = null;
  opened = track.id;
  body.hidden = false;
  control.setAttribute("aria-expanded", "true");
  fill(body, toClass(track), marks(track), h("details", {}, h("summary", {"data-key": "figures-" + track.id}, "The figures"), h("div", {class: "figs"})));
  body.querySelector("details").addEventListener("toggle", (event) => { if (event.target.open) showFigures(track, event.target.lastChild); });
}

async function showFigures(track, element) {
  try {
    const known = await get("/track/" + track.id);
    fill(element, figures([...known.figures, ["file", known.file]]));
  } catch (problem) { if (!(problem instanceof Refused)) throw problem; say(problem.message, {grave: true}); }
}

/* Into the class, in the place of a track of it: the one chosen last, or any other. */
function toClass(track) {
  const pick = chosenTrack();
  if (!pick) return null;
  const there = placed ?? pick.n;
  const place = h("select", {"aria-label": "Where in the class", "data-key": "place-" + track.id, onchange: () => { placed = Number(place.value); }}, state.set.picks.map((each) => h("option", {value: each.n, selected: each.n === there}, each.place + " (now " + each.title + ")")));
  return h("div", {class: "row"}, h("label", {}, "Play it ", place), button("Put it there", () => put(Number(place.value), track.id), {class: "strong small", "aria-label": "Put " + track.title + " there", "data-key": "put-" + track.id}));
}

function marks(track) {
  const set = (key, value, said) => act("mark", {track: track.id, key, value}, said).then((done) => { if (done) load(); });
  const toggle = (key, value, label, said) => {
    const on = track.marks[key] === value;
    return button(label, () => set(key, on ? null : value, on ? "No longer marked." : said), {class: "small", "aria-pressed": String(on), "data-key": "mark-" + key + track.id});
  };
  const beats = track.beats.length ? h("span", {class: "row", role: "group", "aria-label": "Beats a minute, as you feel it"}, "Beats a minute, as I feel it ", track.beats.map((bpm) => {
    const on = track.marks.beat === String(bpm);
    return button(String(bpm), () => set("beat", on ? null : String(bpm), on ? "No longer marked." : "So it is, whatever is measured."), {class: "small", "aria-pressed": String(on), "data-key": "mark-beat" + track.id + "-" + bpm});
  })) : null;
  const heard = h("select", {"aria-label": "How lively you hear it", "data-key": "mark-energy" + track.id, onchange: (event) => set("energy", event.target.value || null, "Your ear counts more than what was measured.")},
    h("option", {value: ""}, "as measured"), state.tempers.map(({word, percent}) => h("option", {value: String(percent), selected: track.marks.energy === String(percent)}, word)));
  return h("div", {class: "row marks", role: "group", "aria-label": "Your own word on it"},
    toggle("favourite", "yes", "A favourite", "It comes sooner now."), toggle("voice", "no", "No voice in it", "Marked."), toggle("rest", "never", "Never in a rest", "Marked."),
    toggle("use", "never", "Never in a class", "It will not be chosen."), h("label", {}, "To my ear it is ", heard), beats);
}

/* ---- what can't be used ---- */

/* Each once, whether it is known from before or the last look left it out. */
function showBad(unusable) {
  const job = state.job, left = (job?.what === "scan" && job.result?.left_out) || [];
  const all = new Map([...unusable.map((track) => [track.file, track.problem]), ...left.map((each) => [each.file, each.why])]);
  fill(bad, all.size ? h("details", {id: "bad"}, h("summary", {"data-key": "bad"}, (all.size === 1 ? "1 file" : all.size + " files") + " can’t be used, and why"),
    h("ul", {class: "plain"}, [...all].map(([file, why]) => h("li", {}, name(file), ": ", name(why))))) : null);
}

onState((after, before) => {
  const listened = after.job?.what === "scan" && after.job.state !== "running" && before.job?.state === "running";
  if (listened && after.job.state === "done" && after.library.usable) closeAdding();
  if (view.hidden) return;
  if (after.library.problem !== before.library.problem) showProblem();
  if (listened || after.library.usable !== before.library.usable || after.library.unusable !== before.library.unusable || after.set?.mark !== before.set?.mark) load();
});
