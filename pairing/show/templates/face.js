/* What the class clock shows, whoever keeps the time: `here` is the class second, `at` the second of the music. */
const faceOf = (data, course, byId) => {
"use strict";
const {START, END, NAME, SIDE, BREATHS} = STEP;
const {minutes} = words;
const {stretches, stepIndex, sectionIndex} = course;

function put(id, text) {
  const element = byId(id);
  if (element.textContent !== text) element.textContent = text;
}

function isResting(here) {
  const section = data.sections[sectionIndex(here)];
  return section[1] === "rest" && here >= section[2];
}

function showClass(here, running) {
  const section = sectionIndex(here), step = stretches[stepIndex(here)], next = stretches[stepIndex(here) + 1];
  if (here < 0) { showBefore(here); return; }
  const name = data.sections[section][0], over = here >= data.class_s;
  put("c-section", name);
  put("c-pass", words.ofPass(course.passAt(here), step));
  put("c-pose", over ? "The class is over" : step ? step[NAME] : "");
  byId("c-pose").classList.toggle("long", Boolean(step) && step[NAME].length > 26);
  put("c-note", over || !step ? "" : words.ofStep(step));
  showCount(here, over ? null : step);
  put("c-next", next && !over ? "Next: " + next[NAME] + (next[SIDE] && (!step || next[SIDE] !== step[SIDE]) ? ", " + next[SIDE] : "") : "");
  if (running) put("c-announce", name);
}

function showBefore(here) {
  put("c-section", "Before the class");
  put("c-pass", "begins in " + minutes(-here));
  put("c-pose", "Arriving");
  put("c-note", ""); put("c-count", ""); put("c-unit", "");
  put("c-next", "Next: " + (stretches[0] ? stretches[0][NAME] : ""));
}

function showCount(here, step) {
  if (!step) { put("c-count", ""); put("c-unit", ""); return; }
  const left = Math.max(0, step[END] - here);
  if (step[BREATHS]) {
    const breaths = Math.max(1, Math.ceil(left / ((step[END] - step[START]) / step[BREATHS]) - 0.02));
    put("c-count", String(breaths));
    put("c-unit", breaths === 1 ? "breath to go" : "breaths to go");
  } else {
    put("c-count", minutes(left));
    put("c-unit", "to go");
  }
}

function showLate(strong, more, isLate) {
  put("c-late-by", strong);
  put("c-late-end", more);
  byId("c-late").classList.toggle("late", isLate);
}

/* Built anew only where it says something else, so that a key or a thumb finds its button where it was. */
function showDrops(open, isLate, falls, restAhead, leaveOut) {
  const box = byId("c-drops");
  const key = isLate + open.found.map((drop) => drop.text + Math.round(drop.saves)).join() + (open.need > NEAR_ENOUGH_S ? Math.round(open.need / 15) : "") + minutes(falls);
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  box.replaceChildren(...(isLate ? words.listOfDrops(open, falls, restAhead, leaveOut) : []));
}

/* A button a section; `act` takes its index. */
function makeSections(act) {
  data.sections.forEach((section, index) => {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.index = index;
    button.textContent = section[0] + " " + minutes(section[2]);
    button.addEventListener("click", () => act(index));
    byId("c-sections").append(button);
  });
}

function markSection(here) {
  const section = sectionIndex(here);
  for (const button of byId("c-sections").children) {
    if (Number(button.dataset.index) === section) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
}

/* The sheet or the clock, by the address. */
function view(root) {
  const clock = location.hash === "#clock";
  root.classList.toggle("clock-on", clock);
  byId("to-sheet").toggleAttribute("aria-current", false);
  byId("to-clock").toggleAttribute("aria-current", false);
  byId(clock ? "to-clock" : "to-sheet").setAttribute("aria-current", "page");
  window.scrollTo(0, 0);
}

return {put, isResting, showClass, showLate, showDrops, makeSections, markSection, view};
};
