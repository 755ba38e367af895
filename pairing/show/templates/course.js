/* The course of a class: what lies at a class second, and what could be left out from there on. Times are class seconds;
   `left` lists the spans [from, to] that were decided to be left out. Nothing here knows what time it is. */
const STEP = {START: 0, END: 1, NAME: 2, NOTE: 3, SIDE: 4, BREATHS: 5, REPEATED: 6, LINE: 7, POSE: 8, ROUND: 9};  // the columns of a step
const NEAR_ENOUGH_S = 15;  // so close counts as on time
const courseOf = (data) => {
"use strict";
const stretches = data.steps.filter((step) => step[STEP.END] > step[STEP.START]);

function stepIndex(at) {
  const found = stretches.findIndex((step) => at < step[STEP.END]);
  return found < 0 ? stretches.length - 1 : found;
}

function sectionIndex(at) {
  const found = data.sections.findIndex((section) => at < section[3]);
  return found < 0 ? data.sections.length - 1 : found;
}

const passAt = (at) => data.passes.find((pass) => at >= pass[2] && at < pass[3]);
const trackAt = (at) => data.tracks.filter((track) => at >= track[2] && at < track[3]).pop();
const trackAfter = (at) => data.tracks.find((track) => track[2] > at);

/* Seconds that are decided to be left out and still lie ahead. */
const waiting = (at, left) => left.reduce((sum, [from, to]) => sum + (from >= at ? to - from : 0), 0);

/* At most two things to leave out that make up for `need` seconds: one that is enough alone, the kindest kind first;
   else the one that gives most, and another. What is still needed then comes along. */
function suggestions(at, need, left) {
  const isLeft = (spans) => spans.some(([from]) => left.some((span) => span[0] === from));
  const found = [];
  let open = data.drops.map((drop) => {
    const savings = drop.savings.filter((saving) => saving.from_s >= at && !isLeft(saving.spans));
    return {what: drop.what, text: drop.text, savings, saves: savings.reduce((sum, saving) => sum + saving.saves_s, 0)};
  }).filter((drop) => drop.saves >= 5);
  while (need > NEAR_ENOUGH_S && open.length && found.length < 2) {
    const enough = open.filter((drop) => drop.saves >= need - NEAR_ENOUGH_S);
    const kind = ["option", "breath", "round"].find((what) => enough.some((drop) => drop.what === what));
    const best = kind ? enough.filter((drop) => drop.what === kind).reduce((a, b) => (b.saves < a.saves ? b : a))
      : open.reduce((a, b) => (b.saves > a.saves ? b : a));
    found.push(best);
    open = open.filter((drop) => drop !== best);
    need -= best.saves;
  }
  return {found, need};
}

return {stretches, stepIndex, sectionIndex, passAt, trackAt, trackAfter, waiting, suggestions};
};
