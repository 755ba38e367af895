/* Ready to go: everything for the class with one press, what lies there and of which version, and single things. */

import {$, act, button, fill, h, name, onState, state} from "./tools.js";

const view = $("view-ready");
const AGES = {this: "as the class is now", other: "not of the class as it is now", unknown: "it doesn’t say of which class it is"};
const NAMES = {mix: "The mix", sheet: "The sheet", playlist: "The playlist"};
const endings = Object.fromEntries(state.outputs.map((output) => [output.name, output.endings[0]])); // as chosen last
let stem = null, under = false, loud = false;

export function showReady() {
  if (!state.set) { fill(view, h("p", {}, "There is nothing to take along yet. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  stem = stem ?? state.set.name.replace(/\.[^.]+$/, "");
  fill(view, h("h2", {}, "Everything for the class"), main(), there(), teaching(), single(),
    h("p", {class: "soft"}, "Playing music to a class, and copying it into one file, touches rights that local law and the collecting societies decide on; keep the file to yourself. Set the volume with a sound level meter at a mat."));
}

const how = () => ({under_voice: under, loud});
const everything = (more = {}) => act("everything", {ending: endings.mix, name: stem, ...how(), ...more}, "Writing it all…");

function main() {
  const mixes = state.outputs.find((output) => output.name === "mix").endings;
  const file = h("input", {id: "stem", type: "text", value: stem, size: 22, autocomplete: "off", oninput: (event) => { stem = event.target.value; }, "data-key": "stem"});
  const again = state.beside.length > 0;
  return h("section", {class: "everything"},
    h("p", {}, "The mix of the whole class in one file; the sheet to teach from, which plays it; and a playlist, in case you need the tracks one by one."),
    h("div", {class: "row"}, button(again ? "Write everything again" : "Write everything", () => everything(again ? {replace: true} : {}), {class: "strong large", id: "everything", "data-key": "everything", disabled: state.job?.state === "running"}),
      h("label", {}, "Mix as ", choice("mix", mixes))),
    h("details", {}, h("summary", {"data-key": "how"}, "Name and loudness"),
      h("div", {class: "fold"}, h("p", {}, h("label", {}, "Name ", file), h("span", {class: "soft"}, " in ", name(state.folder))),
        h("p", {}, h("label", {}, tick("under", under, (on) => { under = on; }), " softer music where you speak")),
        h("p", {}, h("label", {}, tick("loud", loud, (on) => { loud = on; }), " all as loud as its peaks allow, for a small speaker")))));
}

const tick = (id, checked, put) => h("input", {type: "checkbox", id, checked, onchange: (event) => put(event.target.checked), "data-key": id});

/* What lies beside the class, and whether it is of the class as it is now. */
function there() {
  if (!state.beside.length) return null;
  const sheet = state.beside.find((each) => each.name === "sheet"), mix = state.beside.find((each) => each.name === "mix");
  return h("section", {}, h("h2", {}, "What is there"), h("ul", {class: "plain beside-files", id: "beside"}, state.beside.map((each) =>
    h("li", {class: "row " + each.age}, h("span", {class: "mark", "aria-hidden": "true"}), h("span", {}, NAMES[each.name] + ", ", name(each.file), ": ", h("b", {}, AGES[each.age])), opener(each.file)))),
    sheet && !mix ? h("p", {class: "notice"}, "The sheet has no sound: there is no mix beside it.") : null,
    others());
}

function opener(file) {
  const index = state.written.findIndex((path) => path.replaceAll("\\", "/").endsWith("/" + file));
  return index < 0 ? null : button("Open", () => act("show", {index}), {class: "small", "aria-label": "Open " + file, "data-key": "open-" + file});
}

/* What was written under other names, or into folders. */
function others() {
  const known = new Set(state.beside.map((each) => each.file));
  const list = state.written.map((path, index) => [path, index]).filter(([path]) => !known.has(path.replaceAll("\\", "/").split("/").at(-1)));
  return list.length ? h("ul", {class: "plain", id: "written"}, list.map(([path, index]) => h("li", {class: "row"}, name(path), button("Open", () => act("show", {index}), {class: "small", "aria-label": "Open " + path, "data-key": "open-" + index})))) : null;
}

function teaching() {
  return h("section", {}, h("h2", {}, "Teach"),
    h("div", {class: "row"},
      state.teach ? h("a", {href: state.teach + "#clock", target: "_blank", id: "teach-open", "data-key": "teach"}, "Open the class clock")
        : button("Teach from this computer", () => act("teach", {}, "Making the class ready…"), {id: "teach", "data-key": "teach", disabled: state.job?.state === "running"}),
      button("I taught it today", () => act("used", {}, "Noted: the next class can avoid this music for some weeks."), {id: "used", class: "quiet", "data-key": "used"})),
    h("p", {class: "soft"}, "The class clock opens in this browser: the music waits for you and moves on with you. Leave arcbed running until then."));
}

/* Each thing by itself. */
function single() {
  const write = ({name: kind, folder, wrote}) => act("write", {kind, ending: endings[kind], name: stem + (folder ?? ""), ...how()}, wrote);
  return h("details", {class: "single"}, h("summary", {"data-key": "single"}, "One thing by itself"),
    h("ul", {class: "outputs"}, state.outputs.map((output) => h("li", {},
      h("div", {}, h("h3", {}, output.title), h("p", {class: "soft"}, output.about)),
      h("div", {class: "row do"}, output.endings.length > 1 && output.name !== "mix" ? choice(output.name, output.endings) : null, button(output.button, () => write(output), {id: "write-" + output.name, "data-key": "write-" + output.name}))))));
}

const choice = (kind, known) => h("select", {id: kind + "-ending", "aria-label": "Kind of file", onchange: (event) => { endings[kind] = event.target.value; showReady(); }, "data-key": kind + "-ending"},
  known.map((ending) => h("option", {value: ending, selected: ending === endings[kind]}, ending)));

onState((after, before) => {
  const said = (each) => JSON.stringify([each.written, each.teach, each.beside, each.set?.mark, each.job?.state]);
  if (!view.hidden && said(after) !== said(before)) showReady();
});
