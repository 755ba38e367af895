/* The one line through the page: five steps, how each stands, and what to do next, always in the same place. */

import {$, act, button, fill, h, onState, size, state} from "./tools.js";

let here = "plan";

export function showLine(view) {
  here = view;
  for (const step of state.steps) {
    const link = $("step-" + step.view);
    link.classList.toggle("done", step.done);
    link.title = step.words;
    if (step.view === view) link.setAttribute("aria-current", "page"); else link.removeAttribute("aria-current");
    const narrow = size() === "narrow";
    fill(link.querySelector(".how"), h("span", {"aria-hidden": narrow ? "true" : null}, narrow ? step.short : step.words), narrow && h("span", {class: "unseen"}, step.words));
  }
  showNext();
}

function showNext() {
  const next = state.next, there = next.view === here;
  const go = next.action ? button(next.label, () => { location.hash = next.view; choose(next.action === "keep"); }, {class: "strong small", id: "next-go", "data-key": "next"})
    : next.label && !there ? h("a", {href: "#" + next.view, id: "next-go", "data-key": "next"}, next.label) : null;
  fill($("next"), h("span", {}, next.words), go);
}

export const choose = (keep, more = {}) => act("pair", {keep, ...more}, keep ? "Chosen again; what fits has stayed." : "The music is chosen.");

onState(() => showLine(here));
