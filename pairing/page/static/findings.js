/* What the checks found: the grave things first and in sight, the rest folded; with care, once. */

import {button, h, name, state} from "./tools.js";

const LEVELS = [["must", "Mend first"], ["should", "Worth a look"], ["note", "Good to know"]];

/* `extra` gives what stands behind one: buttons to where something helps. */
export function findings(list, extra = () => null) {
  const plain = list.filter((each) => !each.care), care = list.filter((each) => each.care);
  return [
    ...LEVELS.map(([level, words]) => part(level, words, plain.filter((each) => each.level === level), extra)),
    part("care", "With care: who should ask first, and what is offered then", care, extra),
  ].filter(Boolean);
}

function part(level, words, list, extra) {
  if (!list.length) return null;
  const rows = h("ul", {}, list.map((each) => h("li", {class: each.level}, h("p", {}, whereOf(each), name(each.message), each.remedy ? h("span", {class: "soft"}, " ", name(each.remedy)) : null, extra(each)))));
  if (level === "must" || level === "should") return h("section", {class: "found " + level}, h("h3", {}, words), rows);
  return h("details", {class: "found " + level}, h("summary", {"data-key": "found-" + level}, words + " (" + list.length + ")"), rows);
}

/* Where it is; the plan's own name says nothing on the page of that plan. */
function whereOf(finding) {
  if (finding.place) return [h("b", {}, name(finding.place)), ": "];
  const where = finding.where === state.plan?.name ? "" : finding.where.replace(state.plan?.name + ", ", "").replace(/^line \d+(, column \d+)?,? ?/, "");
  return where ? [h("b", {}, name(where)), ": "] : null;
}

export const mendButtons = (finding, go) => finding.mends.map((place) => [" ", button(place.label, () => go(place), {class: "small", "data-key": "mend-" + finding.code + finding.where + place.label})]);
