/* Which class lies on the page: a plan is started, or one that lies in the folder is opened. */

import {$, act, button, fill, get, h, Refused, say, state} from "./tools.js";
import {savePlan} from "./plan.js";

const body = h("div", {class: "begin"});
const another = h("details", {id: "another", ontoggle: () => { if (another.open) offer(); }}, h("summary", {}, "Another class"));
export const begin = h("div", {});

/* At hand where there is no plan, folded away where there is one. */
export function showBegin() {
  if (state.plan) {
    if (!another.contains(body)) { another.open = false; another.append(body); begin.replaceChildren(another); }
    return;
  }
  if (body.contains(document.activeElement)) return; // what is being typed stays
  begin.replaceChildren(body);
  offer();
}

async function offer() {
  let found;
  try { found = await get("/files"); } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
    return;
  }
  const file = h("input", {id: "new-name", type: "text", value: "class.md", size: 20});
  const length = h("select", {id: "new-minutes"}, [30, 45, 60, 75, 90].map((value) => h("option", {value, selected: value === 60}, value + " minutes")));
  const there = found.files.filter((each) => each !== state.plan?.name && each !== state.set?.name);
  fill(body,
    h("h2", {}, "Start a plan"),
    h("p", {}, "A plan is a note in plain text. It will lie in " + state.folder + "."),
    h("div", {class: "row"}, h("label", {}, "Name ", file), h("label", {}, "Slot ", length),
      button("Start it", () => take("new", {name: file.value, minutes: Number(length.value)}, "Started; change it as you like."), {class: "strong", id: "new-plan"})),
    state.set && !state.plan ? h("p", {}, "The plan of this set is gone; the set keeps its text and can be changed without it.") : null,
    there.length ? h("section", {}, h("h2", {}, "Or open what lies there"), h("ul", {class: "plain"}, there.map((each) =>
      h("li", {}, button(each, () => take("open", {name: each})), each.toLowerCase().endsWith(".csv") ? h("span", {class: "soft"}, " a table: it is brought in as a plan") : null)))) : null);
}

/* What was typed into the plan that lies here is kept first. */
async function take(action, values, words = "") {
  if (!await savePlan()) return;
  if (!await act(action, values, words)) return;
  another.open = false;
  $("plan-text").focus();
}
