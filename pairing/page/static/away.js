/* What to walk in with: mix, playlist, sheet, picture; and where the files went. */

import {$, act, button, fill, h, name, onState, state} from "./tools.js";

const view = $("view-away");
const endings = Object.fromEntries(state.outputs.map((output) => [output.name, output.endings[0]])); // as chosen last
let stem = null, under = false, loud = false;

export function showAway() {
  if (!state.set) { fill(view, h("p", {}, "There is nothing to take away yet. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  stem = stem ?? state.set.name.replace(/\.[^.]+$/, "");
  const file = h("input", {id: "stem", type: "text", value: stem, size: 24, oninput: (event) => { stem = event.target.value; }, "data-key": "stem"});
  const write = ({name, folder, wrote}) => act("write", {kind: name, ending: endings[name], name: stem + (folder ?? endings[name]), under_voice: under, loud}, wrote);
  fill(view,
    state.old_mixes.map((old) => h("p", {class: "row warn", role: "status"}, h("span", {}, name(old), " is the mix of an earlier version of this class."),
      button("Write it anew", () => act("write", {kind: "mix", ending: old.slice(old.lastIndexOf(".")), name: old, under_voice: under, loud, replace: true}, ""), {"data-key": "anew-" + old}))),
    h("p", {class: "row"}, h("label", {}, "Name ", file), h("span", {class: "soft"}, "in " + state.folder),
      h("label", {}, h("input", {type: "checkbox", id: "under", checked: under, onchange: (event) => { under = event.target.checked; }, "data-key": "under"}), " music softer where you speak"),
      h("label", {}, h("input", {type: "checkbox", id: "loud", checked: loud, onchange: (event) => { loud = event.target.checked; }, "data-key": "loud"}), " all as loud as its peaks allow")),
    h("div", {class: "cards"},
      state.outputs.map((output, index) => card(output.title, output.about, choice(output),
        button(output.button, () => write(output), {class: index ? null : "strong", id: "write-" + output.name, "data-key": "write-" + output.name}))),
      card("Teach with it", "The class clock in this browser, on this computer: the music waits for you and moves on with you. Leave arcbed running meanwhile.",
        state.teach ? h("a", {href: state.teach + "#clock", target: "_blank", id: "teach-open", "data-key": "teach"}, "Open the class clock")
          : button("Make it ready", () => act("teach", {}, ""), {id: "teach", "data-key": "teach"})),
      card("Taught it", "Note that the class was taught, so that the next one can avoid this music for some weeks.",
        button("I taught it today", () => act("used", {}, "Noted."), {id: "used", "data-key": "used"}))),
    state.written.length ? h("section", {}, h("h2", {}, "Written"), h("ul", {class: "plain", id: "written"}, state.written.map((path, index) =>
      h("li", {class: "row"}, name(path), button("Open", () => act("show", {index}), {"aria-label": "Open " + path, "data-key": "open-" + index}))))) : null,
    h("p", {class: "soft"}, "Playing music to a class, and copying it into one file, touches rights that local law and the collecting societies decide on; keep the file to yourself. Set the volume with a sound level meter at a mat."));
}

const card = (title, words, ...rest) => h("section", {class: "card"}, h("h2", {}, title), h("p", {}, words), h("div", {class: "row"}, rest));

const choice = ({name: kind, endings: known}) => known.length < 2 ? null : h("select", {id: kind + "-ending", "aria-label": "Kind of file", onchange: (event) => { endings[kind] = event.target.value; }, "data-key": kind + "-ending"},
  known.map((ending) => h("option", {value: ending, selected: ending === endings[kind]}, ending)));

onState((after, before) => { if (!view.hidden && (after.written !== before.written || after.teach !== before.teach || String(after.old_mixes) !== String(before.old_mixes) || after.set?.mark !== before.set?.mark)) showAway(); });
