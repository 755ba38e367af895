/* The library: a list in words, the best for the section at hand first; marks; scanning a folder. */

import {$, act, button, fill, get, h, name, onState, Refused, say, state, svg} from "./tools.js";
import {carries, takes} from "./carry.js";
import {choose, chosenPick, put, sectionOf} from "./music.js";
import {hearTrack} from "./player.js";

const view = $("view-library");
const words = h("input", {id: "words", type: "search", placeholder: "title, artist, album or file", "aria-label": "Search the library", autocomplete: "off"});
const section = h("select", {id: "section", "aria-label": "For which section"});
const folder = h("input", {id: "folder", type: "text", size: 34, placeholder: "your music folder", autocomplete: "off", spellcheck: false});
const other = h("input", {id: "other-library", type: "text", size: 34, placeholder: "library.sqlite", autocomplete: "off", spellcheck: false});
const unread = h("div", {});
const look = h("div", {class: "look"});
const places = h("div", {class: "places"});
const list = h("ol", {class: "tracks", id: "tracks"});
const bad = h("div", {});
const count = h("p", {class: "soft", role: "status"});
const seek = h("div", {class: "row"}, h("label", {}, "For ", section), words);
const forget = h("div", {class: "row"}, button("Forget files that are gone", () => act("forget", {}, "Forgotten; your marks are kept, should they come back."), {id: "forget"}),
  h("span", {class: "soft"}, "takes out of the library what is no longer on the disk."));
view.append(
  h("details", {id: "folders", class: "scanning", ontoggle: (event) => { if (event.target.open && !look.childElementCount) lookInto(""); }}, h("summary", {}, "Add music"),
    h("form", {class: "row", onsubmit: (event) => { event.preventDefault(); act("scan", {folder: folder.value}); }},
      h("label", {}, "Folder of music ", folder), h("button", {type: "submit", id: "scan", class: "strong"}, "Scan it"), h("span", {class: "soft"}, "with all that is inside. Files are only read, never changed.")),
    look,
    forget,
    h("form", {class: "row", onsubmit: (event) => { event.preventDefault(); act("join", {library: other.value}, "Taken over; scan the folders if the music lies elsewhere here."); }},
      h("label", {}, "Another library ", other), h("button", {type: "submit", id: "join"}, "Take it over"), h("span", {class: "soft"}, "what was analysed on another machine; nothing in it is changed."))),
  unread, places, seek, count, list, bad);

let asking = null, waiting = 0, want = null, of = null;

words.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(load, 120); });
section.addEventListener("change", () => { want = section.value; load(); });

export function showLibrary() {
  const pick = chosenPick(), key = pick ? pick.n + " " + pick.track : "";
  if (want === null || key !== of) want = pick ? String(sectionOf(pick)) : "0";
  of = key;
  showProblem();
  showPlaces();
  load();
}

/* A library that can't be read is left as it is until somebody decides. */
function showProblem() {
  const library = state.library;
  if (!library.usable && !library.unusable && !library.problem) $("folders").open = true;
  fill(unread, library.problem ? h("div", {class: "notice"}, h("p", {}, name(library.problem), " It was left as it is."),
    library.can_set_aside ? h("p", {}, button("Set it aside and begin a new one", () => act("set_aside", {}, "Set aside under another name. Now scan your music again."), {id: "set-aside", class: "strong"}),
      " Your marks and the classes you taught are kept as far as they can be read.") : null) : null);
}

/* The tracks of the class in their order: which one is chosen, and where another one can be dropped. */
function showPlaces() {
  const pick = chosenPick();
  fill(places, pick ? [
    h("div", {class: "row spots", role: "group", "aria-label": "Tracks of the class"}, state.set.picks.map((each) => spot(each, pick))),
    h("p", {class: "soft"}, "Track " + pick.n + " is ", name(pick.title), ", in " + pick.section + ". Put another one there, or drag it onto any number.")] : null);
}

function spot(each, pick) {
  const words = each.n + ", " + each.title + ", in " + each.section;
  const box = button(String(each.n), () => { choose(each.n); showLibrary(); }, {class: "spot", "aria-pressed": String(each.n === pick.n), "aria-label": "Track " + words, title: words, "data-key": "spot-" + each.n});
  takes(box, (track) => put(each.n, track));
  return box;
}

/* Folders to choose from, so that nobody has to type a path. */
async function lookInto(at) {
  let found;
  try { found = await get("/folders?at=" + encodeURIComponent(at)); } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
    return;
  }
  folder.value = found.at;
  const songs = found.songs === 1 ? "1 piece of music lies" : (found.songs || "No") + " pieces of music lie";
  fill(look, h("p", {class: "soft", role: "status"}, songs + " right in ", name(found.at), found.folders.length ? "; folders in it:" : "; no folder is in it."),
    h("div", {class: "row"},
      found.above && button("One folder up", () => lookInto(found.above), {"data-key": "up"}),
      found.folders.map((each) => button(name(each.name), () => lookInto(each.at), {"data-key": "in-" + each.at}))));
  if (at && document.activeElement === document.body) look.querySelector("button")?.focus();
}

async function load() {
  asking?.abort();
  asking = new AbortController();
  try {
    const answer = await get("/library?section=" + (want ?? "0") + "&words=" + encodeURIComponent(words.value), asking.signal);
    show(answer);
  } catch (problem) {
    if (problem.name === "AbortError") return;
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
  }
}

function show(answer) {
  const options = [["", "no section, by name"], ...answer.sections.map((title, index) => [String(index), title])];
  if (section.options.length !== options.length || [...section.options].some((option, index) => option.textContent !== options[index][1])) {
    section.replaceChildren(...options.map(([value, title]) => h("option", {value}, title)));
  }
  seek.hidden = forget.hidden = !state.library.usable && !state.library.unusable;
  section.value = answer.section === null ? "" : String(answer.section);
  count.textContent = answer.tracks.length || answer.unusable.length
    ? answer.tracks.length + answer.more + " tracks" + (answer.section === null ? "." : ", the one that serves this section best first.") + (answer.more ? " The first " + answer.tracks.length + " are shown; a word finds the others." : "")
    : state.library.problem ? "" : words.value ? "No track has these words." : "No music yet. Choose a folder above and scan it; a track takes some seconds, once.";
  fill(list, answer.tracks.map(row));
  fill(bad, answer.unusable.length ? h("details", {}, h("summary", {"data-key": "bad"}, (answer.unusable.length === 1 ? "1 file" : answer.unusable.length + " files") + " can’t be used"),
    h("ul", {class: "plain"}, answer.unusable.map((track) => h("li", {}, name(track.file), ": ", name(track.problem))))) : null, leftOut());
}

/* What the last scan passed by and why, the files that can't be used included. */
function leftOut() {
  const job = state.job, left = (job?.what === "scan" && job.result?.left_out) || [];
  return left.length ? h("details", {}, h("summary", {"data-key": "left"}, "Left out by the last scan: " + job.result.count),
    h("ul", {class: "plain"}, left.map((each) => h("li", {}, name(each.file), " ", name(each.why))))) : null;
}

function row(track) {
  const more = h("div", {class: "more", hidden: true});
  const pick = chosenPick();
  const item = h("li", {class: "track-row" + (track.may === false ? " barred" : "")},
    h("div", {class: "line"},
      h("p", {}, h("b", {}, name(track.title)), track.artist ? h("span", {class: "by"}, " ", name(track.artist)) : null,
        track.why ? h("span", {class: "why"}, name(track.why)) : null),
      h("p", {class: "soft facts"}, track.length, track.voice === null ? "" : track.voice === 0 ? ", likely no voice" : ", likely voice in " + track.voice + " %",
        track.last_used ? ", last used " + track.last_used : "", marked(track.marks)),
      h("div", {class: "row"},
        button("Hear", () => hearTrack(track), {"aria-label": "Hear " + track.title, "data-key": "hear-" + track.id}),
        pick && button("Put at " + pick.n, () => put(pick.n, track.id), {"aria-label": "Put " + track.title + " at track " + pick.n, "data-key": "put-" + track.id}),
        button("More", (event) => open(track, more, event.target), {"aria-expanded": "false", "aria-label": "More about " + track.title, "data-key": "more-" + track.id}))),
    more);
  if (pick) carries(item, track.id);
  return item;
}

function marked(marks) {
  const said = Object.entries(marks).map(([key, value]) => (key === "favourite" ? "favourite" : key === "energy" ? "energy " + value + " %" : key === "voice" ? (value === "no" ? "no voice" : "with voice") : key === "rest" ? (value === "never" ? "never in a rest" : "fit for a rest") : "never"));
  return said.length ? "; your marks: " + said.join(", ") : "";
}

async function open(track, more, control) {
  if (!more.hidden) { more.hidden = true; control.setAttribute("aria-expanded", "false"); return; }
  let known;
  try { known = await get("/track/" + track.id); } catch { return; }
  more.hidden = false;
  control.setAttribute("aria-expanded", "true");
  more.replaceChildren(curve(known.picture), h("p", {class: "soft"}, known.tempo + ", " + known.key + ", mean energy " + known.energy + " %, " + "recorded as loud as " + known.loudness + " LUFS; file " + known.file), marks(known));
}

function curve(picture) {
  return svg("svg", {class: "pc trackcurve", viewBox: "0 0 " + picture.width + " " + picture.height, role: "img", "aria-label": "Energy over time; where a voice is likely is marked below"},
    svg("path", {class: "music", d: picture.energy}), svg("path", {class: "voice", d: picture.voice}),
    ...picture.cuts.map((x) => svg("path", {class: "grid", d: "M" + x + " 0v" + picture.height})));
}

function marks(track) {
  const set = (key, value, said) => act("mark", {track: track.id, key, value}, said).then((done) => { if (done) load(); });
  const toggle = (key, value, label) => {
    const on = track.marks[key] === value;
    return button(label, () => set(key, on ? null : value, on ? "Mark taken back." : "Marked."), {"aria-pressed": String(on), "data-key": "mark-" + key + track.id});
  };
  const energy = h("input", {type: "number", min: 0, max: 100, step: 5, value: track.marks.energy ?? "", "aria-label": "Energy as you hear it, 0 to 100", "data-key": "mark-energy" + track.id});
  return h("div", {class: "row marks", role: "group", "aria-label": "Your marks"},
    toggle("favourite", "yes", "Favourite"), toggle("voice", "no", "No voice"), toggle("rest", "never", "Never in a rest"), toggle("use", "never", "Never"),
    h("label", {}, "Energy ", energy, " %"), button("Set", () => set("energy", energy.value === "" ? null : String(energy.value), "Marked."), {"aria-label": "Set the energy"}));
}

onState((after, before) => {
  const job = after.job, was = before.job;
  if (!view.hidden && after.library.problem !== before.library.problem) showProblem();
  if (!view.hidden && (after.library.usable !== before.library.usable || after.library.unusable !== before.library.unusable || after.set?.mark !== before.set?.mark)) { showPlaces(); load(); }
  if (job && job.what === "scan" && job.state !== "running" && was?.state === "running" && !view.hidden) load();
});
