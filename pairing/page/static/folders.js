/* Adding music: a folder is found by pressing; a path is typed only by who wants to. */

import {act, button, fill, get, h, name, Refused} from "./tools.js";
import {say} from "./say.js";

const look = h("div", {class: "look"});
const folder = h("input", {id: "folder", type: "text", size: 30, autocomplete: "off", spellcheck: false});
const other = h("input", {id: "other-library", type: "text", size: 30, autocomplete: "off", spellcheck: false});
const listen = (at) => act("scan", {folder: at}, "Listening to it. You can carry on in the meantime.");
const typed = (words, field, label, id, action) => h("form", {class: "row", onsubmit: (event) => { event.preventDefault(); action(field.value); }},
  h("label", {}, words, field), h("button", {type: "submit", id, class: "small"}, label));

export const addMusic = h("details", {id: "folders", ontoggle: (event) => { if (event.target.open && !look.childElementCount) lookInto(""); }}, h("summary", {"data-key": "folders"}, "Add music"),
  h("div", {class: "fold"}, look,
    h("details", {}, h("summary", {}, "Other ways"), h("div", {class: "fold"},
      typed("A folder by its path ", folder, "Listen to it", "scan-typed", listen),
      typed("What arcbed wrote about music on another computer, its file ", other, "Take it over", "join", (path) => act("join", {library: path}, "Taken over. If the music lies elsewhere here, add its folder too.")),
      h("div", {class: "row"}, button("Forget files that are gone", () => act("forget", {}, "Forgotten. Your marks are kept, should they come back."), {id: "forget", class: "small"}))))));

export function openAdding() {
  addMusic.open = true;
  if (!look.childElementCount) lookInto("");
}

export function closeAdding() {
  const focused = addMusic.contains(document.activeElement);
  addMusic.open = false;
  if (focused) addMusic.querySelector("summary").focus({preventScroll: true});
}

async function lookInto(at) {
  let found;
  try { found = await get("/folders?at=" + encodeURIComponent(at)); } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
    return;
  }
  folder.value = found.at;
  const songs = found.songs === 1 ? "1 piece of music" : found.songs ? found.songs + " pieces of music" : "no music";
  fill(look,
    h("div", {class: "row"}, h("p", {role: "status"}, "In ", h("b", {}, name(found.at)), ": " + songs + (!found.folders.length ? "." : found.songs ? ", and folders:" : " itself; it may be in one of these folders:")),
      button("Listen to all in here", () => listen(found.at), {id: "scan", class: "strong", "data-key": "scan"})),
    h("div", {class: "row inside"},
      found.above && button("‹ One folder up", () => lookInto(found.above), {class: "quiet", "data-key": "up"}),
      found.folders.map((each) => button(name(each.name), () => lookInto(each.at), {"data-key": "in-" + each.at}))),
    h("p", {class: "soft"}, "Folders inside are listened to as well; a track takes some seconds, once. Files are only read, never changed."));
  if (at && document.activeElement === document.body) look.querySelector("button")?.focus({preventScroll: true});
}
