/* What to walk in with: mix, playlist, sheet, picture; and where the files went. */

import {$, act, button, fill, h, name, onState, state} from "./tools.js";

const view = $("view-away");
const endings = Object.fromEntries(Object.entries(state.kinds).map(([kind, known]) => [kind, known[0]])); // as chosen last
let stem = null, under = false, loud = false;

export function showAway() {
  if (!state.set) { fill(view, h("p", {}, "There is nothing to take away yet. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  stem = stem ?? state.set.name.replace(/\.[^.]+$/, "");
  const file = h("input", {id: "stem", type: "text", value: stem, size: 24, oninput: (event) => { stem = event.target.value; }, "data-key": "stem"});
  const write = (kind, words, name = stem + endings[kind]) => act("write", {kind, ending: endings[kind], name, under_voice: under, loud}, words);
  fill(view,
    state.old_mixes.map((old) => h("p", {class: "row warn", role: "status"}, h("span", {}, name(old), " is the mix of an earlier version of this class."),
      button("Write it anew", () => act("write", {kind: "mix", ending: old.slice(old.lastIndexOf(".")), name: old, under_voice: under, loud, replace: true}, ""), {"data-key": "anew-" + old}))),
    h("p", {class: "row"}, h("label", {}, "Name ", file), h("span", {class: "soft"}, "in " + state.folder),
      h("label", {}, h("input", {type: "checkbox", id: "under", checked: under, onchange: (event) => { under = event.target.checked; }, "data-key": "under"}), " music softer where you speak"),
      h("label", {}, h("input", {type: "checkbox", id: "loud", checked: loud, onchange: (event) => { loud = event.target.checked; }, "data-key": "loud"}), " all as loud as its peaks allow")),
    h("div", {class: "cards"},
      card("The mix", "One file, the whole class to the second, with its fades and chapters.",
        choice("mix"),
        button("Write the mix", () => write("mix", ""), {class: "strong", id: "write-mix", "data-key": "write-mix"})),
      card("One file a track", "A folder of numbered files, cut and made as loud as in the class; played one after the other they last as long.",
        choice("parts"),
        button("Write the files", () => write("parts", "", stem + " tracks"), {id: "write-parts", "data-key": "write-parts"})),
      card("All of it in one folder", "The mix, the sheet with its clock and one file a track, all of one state: copy the folder and go.",
        choice("pack"),
        button("Pack it", () => write("pack", "", stem + " to go"), {id: "write-pack", "data-key": "write-pack"})),
      card("Cue sheet and class clock", "One page to print, and to stand beside the mat. Written after the mix, it plays it too.",
        button("Write the sheet", () => write("sheet", "The sheet is written."), {id: "write-sheet", "data-key": "write-sheet"})),
      card("Playlist", "Names the tracks in order. It can’t trim or fade, so it runs longer than the class.",
        choice("playlist"),
        button("Write the playlist", () => write("playlist", "The playlist is written."), {id: "write-playlist", "data-key": "write-playlist"})),
      card("Picture", "The class and its music at a glance.",
        choice("picture"),
        button("Write the picture", () => write("picture", "The picture is written."), {id: "write-picture", "data-key": "write-picture"})),
      card("Taught it", "Note that the class was taught, so that the next one can avoid this music for some weeks.",
        button("I taught it today", () => act("used", {}, "Noted."), {id: "used", "data-key": "used"}))),
    state.written.length ? h("section", {}, h("h2", {}, "Written"), h("ul", {class: "plain", id: "written"}, state.written.map((path, index) =>
      h("li", {class: "row"}, name(path), button("Open", () => act("show", {index}), {"aria-label": "Open " + path, "data-key": "open-" + index}))))) : null,
    h("p", {class: "soft"}, "Playing music to a class, and copying it into one file, touches rights that local law and the collecting societies decide on; keep the file to yourself. Set the volume with a sound level meter at a mat."));
}

const card = (title, words, ...rest) => h("section", {class: "card"}, h("h2", {}, title), h("p", {}, words), h("div", {class: "row"}, rest));

const choice = (kind) => h("select", {id: kind + "-ending", "aria-label": "Kind of file", onchange: (event) => { endings[kind] = event.target.value; }, "data-key": kind + "-ending"},
  state.kinds[kind].map((ending) => h("option", {value: ending, selected: ending === endings[kind]}, ending)));

onState((after, before) => { if (!view.hidden && (after.written !== before.written || String(after.old_mixes) !== String(before.old_mixes) || after.set?.mark !== before.set?.mark)) showAway(); });
