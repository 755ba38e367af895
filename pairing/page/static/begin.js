/* Which class is open: a plan is begun, or one that is there is opened. */

import {$, act, button, fill, get, h, Refused, state} from "./tools.js";
import {say} from "./say.js";

let touched = false; // something was typed or chosen in it
const body = h("div", {class: "begin", oninput: () => { touched = true; }});
const another = h("details", {id: "another", ontoggle: () => { if (another.open) { touched = false; offer(); } }}, h("summary", {"data-key": "another"}, "Another class"));
export const begin = h("div", {});

let keepTyped = async () => true;

/* At hand where there is no plan, folded away where there is one; `save` keeps what was typed into it, or says no. */
export function showBegin(save) {
  keepTyped = save;
  if (state.plan) {
    touched = false;
    if (!another.contains(body)) { another.open = false; another.append(body); begin.replaceChildren(another); }
    return;
  }
  if (touched || body.contains(document.activeElement)) return; // what is being typed stays
  begin.replaceChildren(body);
  offer();
}

async function offer() {
  const whole = h("div", {});
  let found;
  try { found = await get("/files"); } catch (problem) { refused(problem); return; }
  if (touched || body.contains(document.activeElement)) return; // begun while the answer was on its way
  fill(body, state.plan ? null : welcome(), known(found.known), fresh(), whole, fromFile(), nearby(found.files, found.known),
    state.set && !state.plan ? h("p", {}, "The plan of this class is gone. Its text is kept with the music, which can be changed without it.") : null);
  try { fill(whole, fromExample((await get("/examples")).examples)); } catch (problem) { refused(problem); } // they take a moment, the first time
}

function refused(problem) {
  if (!(problem instanceof Refused)) throw problem;
  say(problem.message, {grave: true});
}

/* One sentence and two ways on, until there is music. */
function welcome() {
  if (state.library.usable) return null;
  return h("section", {class: "welcome"}, h("h2", {}, "Music that follows your class"),
    h("p", {}, "You write down the class. arcbed listens to your music and lays it under the class, so that it rises and falls with it and ends to the second."),
    h("div", {class: "row"},
      button("Use my music", () => { location.hash = "music"; }, {class: "strong large", id: "my-music"}),
      button("Try it with music made here", () => act("demo", {}, "Making some music to try it with…"), {id: "try-it", class: "large"})),
    h("p", {class: "soft"}, "Making it takes a minute or two, and nothing leaves this computer."));
}

const known = (all) => {
  const others = all.filter((each) => each.path !== state.plan?.path).slice(0, 8);
  return others.length ? h("section", {}, h("h2", {}, "Your classes"), h("ul", {class: "plain"}, others.map((each) =>
    h("li", {}, button(each.name, () => take("bring", {path: each.path}), {class: "linkish"}), h("span", {class: "soft"}, " in " + each.folder))))) : null;
};

function fresh() {
  const file = h("input", {id: "new-name", type: "text", placeholder: "class", size: 18, autocomplete: "off"});
  const length = h("select", {id: "new-minutes"}, [30, 45, 60, 75, 90].map((value) => h("option", {value, selected: value === 60}, value + " minutes")));
  return h("section", {}, h("h2", {}, "Begin a plan"),
    h("p", {}, "A plan is a note in plain text, a line a pose. It comes with a class to change as you like."),
    h("div", {class: "row"}, h("label", {}, "Name ", file), h("label", {}, "Length of the slot ", length),
      button("Begin", () => take("new", {name: file.value || file.placeholder, minutes: Number(length.value)}, "Begun. Change it as you like."), {class: "strong", id: "new-plan"})),
    h("p", {class: "soft"}, "It will be kept in " + state.folder + "."));
}

/* Whole classes, by length and style; taken under a name of its own. */
function fromExample(examples) {
  if (!examples.length) return null;
  const choice = h("select", {id: "example"}, [...new Set(examples.map((each) => each.minutes))].map((length) => h("optgroup", {label: length + " minutes"},
    examples.filter((each) => each.minutes === length).map((each) => h("option", {value: each.id}, each.title + " (" + each.says.replace(/^an? /, "") + ")")))));
  return h("section", {}, h("h2", {}, "Or begin from a whole class"), h("div", {class: "row"}, h("label", {}, "By length and style ", choice),
    button("Begin from it", () => take("new", {example: choice.value}, "A copy of it is yours now; change it as you like."), {id: "new-from-example"})));
}

/* A copy of it becomes a plan; what is copied elsewhere is pasted into a plan that was begun. */
function fromFile() {
  const file = h("input", {id: "class-file", type: "file", accept: ".txt,.md,.csv", onchange: () => file.files[0] && bring(file.files[0])});
  return h("section", {}, h("h2", {}, "Or bring a class you have"), h("div", {class: "row"}, h("label", {}, "A note as text, or a table saved as CSV ", file)),
    h("p", {class: "soft"}, "A copy of it becomes the plan. To paste one, begin a plan and put yours in its place."));
}

async function bring(file) {
  if (file.size > 500_000) { say("This file is too large for a class.", {grave: true}); return; }
  const letters = Array.from(new Uint8Array(await file.arrayBuffer()), (each) => String.fromCharCode(each));
  await take("bring_file", {name: file.name, content: btoa(letters.join(""))}, "A copy of it is the plan now; change it as you like.");
}

function nearby(files, listed) {
  const known = listed.filter((each) => each.path.startsWith(state.folder)).map((each) => each.path.slice(state.folder.length + 1)); // and their music
  const there = files.filter((each) => each !== state.plan?.name && each !== state.set?.name && !known.includes(each) && !known.includes(each.replace(/json$/, "md")));
  return there.length ? h("section", {}, h("h2", {}, "Or open what is there"), h("ul", {class: "plain"}, there.map((each) =>
    h("li", {}, button(each, () => take("open", {name: each}), {class: "linkish"}), each.toLowerCase().endsWith(".csv") ? h("span", {class: "soft"}, " a table: it becomes a plan") : null)))) : null;
}

/* What was typed into the plan that is open is kept first. */
async function take(action, values, words = "") {
  if (!await keepTyped()) return;
  if (!await act(action, values, words)) return;
  another.open = false;
  $("plan-text").focus({preventScroll: true});
  scrollTo(0, 0);
}
