/* What a class that was taught leaves behind: when each step was seen to begin, what was left out, stays and ons. */
const logOf = (data, course) => {
"use strict";
const {START, END, NAME, SIDE, BREATHS, LINE, POSE, ROUND} = STEP;
const {sectionIndex} = course;

/* The clock passes over the time between two poses; the log doesn't, since it is learned from too. */
const between = ([from, to]) => [from, to, "", "", null, null, "", 0, null, 1];
const stretches = [...course.stretches, ...data.betweens.map(between)].sort((a, b) => a[START] - b[START]);
const stepIndex = (at) => stretches.findIndex((step) => at < step[END]);

const fresh = () => ({started: null, changes: [], ended: null});

/* The class stands at `here` at real second `r`: a step not seen before begins; what was taken to have begun and had not, goes. */
function seen(log, here, r) {
  if (here < 0 || here >= data.class_s) return;
  const index = stepIndex(here);
  if (index < 0) return;
  while (log.changes.length && log.changes[log.changes.length - 1][0] > index) log.changes.pop();
  const last = log.changes[log.changes.length - 1];
  if (!last || last[0] < index) log.changes.push([index, r]);
}

function changeOf([index, r]) {
  const step = stretches[index], section = data.sections[sectionIndex(step[START])];
  return {planned_s: step[START], real_s: rounded(r), section: section[0], kind: section[1], round: step[ROUND], side: step[SIDE],
    line: step[LINE], pose: step[POSE] && step[NAME], breaths: step[BREATHS]};
}

const rounded = (seconds) => Math.round(seconds * 100) / 100;

/* Lines whose every second within the class was left out. */
function linesLeftOut(left) {
  const inside = (step) => left.some(([from, to]) => step[START] >= from - 0.01 && step[END] <= to + 0.01);
  return [...new Set(stretches.filter(inside).map((step) => step[LINE]))].filter((line) => line > 0).sort((a, b) => a - b);
}

/* Local time with its zone, ISO 8601. */
function iso(seconds) {
  const date = new Date(seconds * 1000), off = -date.getTimezoneOffset(), two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(date.getTime() + off * 60_000).toISOString().slice(0, 19);
  return local + (off < 0 ? "-" : "+") + two(off / 60) + ":" + two(off % 60);
}

function written(log, music, {title, plan_sha256}) {
  return {format: "arcbed-class-log", version: 1, title, plan_sha256, started: iso(log.started), changes: log.changes.map(changeOf),
    left_out: linesLeftOut(music.left),
    stays: music.stays.filter(([, length]) => length !== null).map(([at, length]) => ({real_s: rounded(at), length_s: rounded(length)})),
    ons: music.ons.map(([at, saved]) => ({real_s: rounded(at), saved_s: rounded(saved)})), ended_real_s: rounded(music.end)};
}

const nameOf = (log, {title}) => (title.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "class") + "-" + iso(log.started).slice(0, 16).replace(/[T:]/g, "-") + ".json";

return {fresh, seen, written, nameOf};
};
