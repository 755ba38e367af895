/* Earlier versions of the class: when, what in them is otherwise, and one press to bring one back. */

import {act, asking, button, fill, h, Refused, state} from "./tools.js";
import {say} from "./say.js";

const list = h("ul", {class: "plain", id: "versions"});
export const earlier = h("details", {id: "earlier", ontoggle: () => { if (earlier.open) offer(); }}, h("summary", {"data-key": "earlier"}, "Earlier versions"), list);

const ask = asking();
let keepTyped = async () => true;

/* `save` keeps what was typed first. */
export function showEarlier(save) {
  keepTyped = save;
  earlier.hidden = !state.plan && !state.set;
  if (earlier.open && !earlier.hidden) offer();
}

async function offer() {
  let answer;
  try { answer = await ask("/versions"); } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
    return;
  }
  if (!answer) return; // asked once more meanwhile
  const found = answer.versions;
  fill(list, found.length ? found.map((each) => h("li", {}, when(each.kept) + ", " + what(each) + " ",
    button("Bring it back", () => bringBack(each), {class: "small", "data-key": "version-" + each.id})))
    : h("li", {}, "None yet. Before you change a class much, it is kept here as it was."));
}

function when(iso) {
  const at = new Date(iso), time = at.toLocaleTimeString([], {hour: "2-digit", minute: "2-digit"});
  return (at.toDateString() === new Date().toDateString() ? "today" : at.toLocaleDateString([], {day: "numeric", month: "long"})) + " " + time;
}

const what = (each) => each.lines + (each.lines === 1 ? " line" : " lines")
  + (each.note && each.music ? ", another note and other music" : each.note ? ", another note" : each.music ? ", other music" : ", the same as now");

async function bringBack(each) {
  if (!await keepTyped()) return;
  await act("bring_back", {version: each.id}, "The class is as it was " + when(each.kept) + ". What it was until now is kept too.");
}
