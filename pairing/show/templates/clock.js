/* The class clock. Class seconds count from the first breath; the mix starts at data.from_s of the class.
   Two things can differ: where the music is (position) and where the class is (position less `behind`). */
(() => {
"use strict";
const data = JSON.parse(document.getElementById("class-data").textContent);
const {START, END, NAME, SIDE, BREATHS} = STEP;
const KEY = "arcbed class " + data.id;
const MINUTE = 60, HOUR = 3600, TICK_MS = 200, RISE_S = 4, UNDO_S = 30;
const root = document.documentElement;
const $ = (id) => document.getElementById(id);
const now = () => Date.now() / 1000;
const course = courseOf(data), awake = screenAwake(() => state.running);
const {minutes, hour} = words;
const {stretches, stepIndex, sectionIndex} = course;

/* planned: the moment, in seconds since 1970, at which class second 0 was to be; null before the first start. */
const fresh = () => ({at: data.from_s, since: now(), running: false, behind: 0, planned: null, left: []});
let state = restored() || fresh();
let fading = null, rising = null, undo = null, waiting = false, said = "", savedAt = 0, sure = 0;

/* ---- the mix ---- */

const audio = data.audio ? $("mix") : null;
let audioOk = Boolean(audio), ours = false;
if (audio) {
  audio.addEventListener("error", () => { audioOk = false; tell("The mix does not lie beside this page, or can’t be played. The clock runs without it."); });
  audio.addEventListener("waiting", () => { waiting = true; });
  audio.addEventListener("playing", () => { waiting = false; if (Math.abs(heard() - position()) > 1) toMix(position()); });
  audio.addEventListener("pause", () => { if (!ours && state.running && !audio.ended) pause(); ours = false; });
  audio.addEventListener("play", () => { if (!state.running) start(); });
  audio.src = data.audio;
}
const heard = () => audio.currentTime + data.from_s;
const sounding = () => audioOk && !audio.paused && !audio.ended && !audio.seeking && !waiting && audio.readyState > 2;

function toMix(at) {
  if (audioOk) audio.currentTime = Math.max(0, at - data.from_s);
}

function playMix() {
  if (!audioOk || !state.running || audio.ended) return;
  if (Math.abs(heard() - position()) > 0.1) toMix(position());
  audio.play().then(() => { if (said.startsWith("Touch")) tell(""); }, (problem) => {
    if (problem.name === "NotAllowedError") tell("Touch anywhere, or press a key, to bring the music back.");
  });
}

function hushMix() {
  if (audioOk && !audio.paused) { ours = true; audio.pause(); }
}

/* ---- time ---- */

function position() {
  return Math.min(state.at + (state.running ? now() - state.since : 0), data.to_s);
}

function hold(at) {
  state.at = Math.min(Math.max(at, data.from_s), data.to_s);
  state.since = now();
}

function follow() {
  if (state.running && sounding() && Math.abs(heard() - position()) > 0.04) hold(heard());
}

const classAt = () => position() - state.behind;
const late = () => state.behind + (state.planned === null ? 0 : now() - state.planned - position());

function start() {
  if (position() >= data.to_s) hold(data.from_s);
  else hold(position());
  state.running = true;
  if (state.planned === null) state.planned = plannedStart();
  playMix();
  awake.ask();
  save();
}

function pause() {
  hold(position());
  state.running = false;
  stopFade();
  hushMix();
  awake.release();
  save();
}

/* The hour of the plan counts where the class starts within an hour of it. */
function plannedStart() {
  const actual = now() - position();
  if (data.start === null) return actual;
  const midnight = new Date();
  midnight.setHours(0, 0, 0, 0);
  const planned = midnight.getTime() / 1000 + data.start;
  return Math.abs(planned - actual) <= HOUR ? planned : actual;
}

function jump(at) {
  undo = {at: position(), behind: state.behind, until: now() + UNDO_S};
  stopFade();
  hold(at);
  state.behind = 0;
  toMix(state.at);
  playMix();
  save();
}

function goBack() {
  if (!undo) return;
  stopFade();
  hold(undo.at);
  state.behind = undo.behind;
  toMix(state.at);
  playMix();
  undo = null;
  save();
}

function shift(seconds) {
  stopFade();
  const at = position();
  hold(at + seconds);
  toMix(state.at);
  playMix();
  save();
}

/* ---- to the rest now ---- */

function toRest() {
  if (!data.rest || fading || position() >= data.rest[0]) return;
  if (!sounding() || !canFade()) { arriveAtRest(); return; }
  fading = {from: now(), volume: audio.volume};
}

/* Some phones leave the volume to their own buttons; there the music can only jump. */
function canFade() {
  const volume = audio.volume;
  audio.volume = volume * 0.5;
  const moved = audio.volume !== volume;
  audio.volume = volume;
  return moved;
}

function arriveAtRest() {
  const volume = fading ? fading.volume : 1;
  const faded = Boolean(fading);
  jump(data.rest[0]);
  if (faded) { audio.volume = 0; rising = {from: now(), volume}; }
  if (!state.running) start();
}

function fade() {
  if (fading) {
    const share = (now() - fading.from) / data.fade_s;
    audio.volume = fading.volume * Math.max(0, 1 - share) ** 2;
    if (share >= 1) arriveAtRest();
  } else if (rising) {
    const share = Math.min(1, (now() - rising.from) / RISE_S);
    audio.volume = rising.volume * share;
    if (share >= 1) rising = null;
  }
}

function stopFade() {
  const volume = fading ? fading.volume : rising ? rising.volume : null;
  fading = rising = null;
  if (audio && volume !== null) audio.volume = volume;
}

/* ---- where the class is ---- */

function stillBefore() {
  const index = stepIndex(classAt());
  if (index < 1) return;
  const before = stretches[index - 1];
  state.behind = position() - (before[START] + before[END]) / 2;
  save();
}

function alreadyNext() {
  const next = stretches[stepIndex(classAt()) + 1];
  if (!next) return;
  state.behind = position() - next[START];
  save();
}

/* What was decided to be left out falls away when the class comes to it. */
function leaveOut() {
  const at = classAt();
  for (const [from, to] of state.left) {
    if (at >= from && at < to - 0.2) { state.behind -= to - at; save(); return; }
  }
}

/* ---- what is shown ---- */

function put(id, text) {
  const element = $(id);
  if (element.textContent !== text) element.textContent = text;
}

function show() {
  const at = position(), here = classAt();
  const section = sectionIndex(here), step = stretches[stepIndex(here)], next = stretches[stepIndex(here) + 1];
  const resting = data.sections[section][1] === "rest" && here >= data.sections[section][2];
  root.classList.toggle("night", resting && root.classList.contains("clock-on"));
  put("c-at", minutes(at));
  $("class-clock").dataset.at = at.toFixed(2);
  put("c-left", minutes(Math.max(0, data.class_s - at)) + " to go");
  put("c-wall", "now " + hour(now()));
  const share = (at - data.from_s) / (data.to_s - data.from_s);
  $("c-done").style.transform = "scaleX(" + share.toFixed(4) + ")";
  showClass(at, here, section, step, next);
  showMusic(at);
  showLate(resting);
  showButtons(at, section);
}

function showClass(at, here, section, step, next) {
  if (here < 0) {
    put("c-section", "Before the class");
    put("c-pass", "begins in " + minutes(-here));
    put("c-pose", "Arriving");
    put("c-note", ""); put("c-count", ""); put("c-unit", "");
    put("c-next", "Next: " + (stretches[0] ? stretches[0][NAME] : ""));
    return;
  }
  const name = data.sections[section][0];
  put("c-section", name);
  put("c-pass", words.ofPass(course.passAt(here), step));
  const over = here >= data.class_s;
  put("c-pose", over ? "The class is over" : step ? step[NAME] : "");
  $("c-pose").classList.toggle("long", Boolean(step) && step[NAME].length > 26);
  put("c-note", over || !step ? "" : words.ofStep(step));
  showCount(here, over ? null : step);
  put("c-next", next && !over ? "Next: " + next[NAME] + (next[SIDE] && (!step || next[SIDE] !== step[SIDE]) ? ", " + next[SIDE] : "") : "");
  if (state.running) put("c-announce", name);
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

function showMusic(at) {
  const track = course.trackAt(at);
  const next = course.trackAfter(at);
  if (!track) { put("c-music", next ? "No music; track " + next[0] + " in " + minutes(next[2] - at) : "No music"); return; }
  const until = next ? next[2] : track[3];
  put("c-music", "Track " + track[0] + ", " + track[1] + ": " + minutes(until - at) + " left");
}

function showLate(resting) {
  const seconds = Math.round(late() / 5) * 5;
  let line, open = {found: [], need: 0};
  if (position() <= data.from_s && !state.running) line = "";
  else if (resting) line = "Ends at " + hour(ending(seconds));
  else if (Math.abs(seconds) <= NEAR_ENOUGH_S) line = "On time";
  else if (seconds < 0) line = minutes(-seconds) + " early; would end at " + hour(ending(seconds)) + ". Stay where it is good.";
  else {
    line = minutes(seconds) + " late; would end at " + hour(ending(seconds));
    open = course.suggestions(classAt(), seconds - waitingToFall(), state.left);
  }
  const isLate = seconds > NEAR_ENOUGH_S && line !== "" && !resting;
  const [strong, ...rest] = line.split(";");
  put("c-late-by", strong);
  put("c-late-end", rest.map((part) => ";" + part).join(""));
  $("c-late").classList.toggle("late", isLate);
  showDrops(isLate ? open : {found: [], need: 0}, isLate);
}

/* Built anew only where it says something else, so that a key or a thumb finds its button where it was. */
function showDrops(open, isLate) {
  const box = $("c-drops"), falls = waitingToFall();
  const key = isLate + open.found.map((drop) => drop.text + Math.round(drop.saves)).join() + (open.need > NEAR_ENOUGH_S ? Math.round(open.need / 15) : "") + minutes(falls);
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  const restAhead = Boolean(data.rest) && position() < data.rest[0];
  box.replaceChildren(...(isLate ? words.listOfDrops(open, falls, restAhead, leaveOutLater) : []));
}

function leaveOutLater(drop) {
  for (const saving of drop.savings) state.left.push(...saving.spans);
  save();
  show();
}

const waitingToFall = () => course.waiting(classAt(), state.left);
const ending = (seconds) => now() + (data.class_s - position()) + state.behind - Math.max(0, Math.min(waitingToFall(), seconds));

function showButtons(at, section) {
  put("b-run", state.running ? "Pause" : at <= data.from_s ? "Start" : at >= data.to_s ? "Again" : "Go on");
  put("b-rest", fading ? "The music fades …" : "To the rest now");
  $("b-rest").disabled = !data.rest || at >= data.rest[0];
  if (undo && now() > undo.until) undo = null;
  $("b-undo").hidden = !undo;
  if (undo) put("b-undo", "Go back to " + minutes(undo.at));
  if (sure && now() > sure) { sure = 0; put("b-over", "Start the class over"); }
  for (const button of $("c-sections").children) {
    if (Number(button.dataset.index) === section) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
}

function tell(text) { said = text; put("c-say", text); }

/* ---- kept over a reload ---- */

function save() {
  savedAt = now();
  try { localStorage.setItem(KEY, JSON.stringify({...state, at: position(), since: now()})); } catch { /* no storage: the clock runs all the same */ }
}

function restored() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY));
    const numbers = kept && [kept.at, kept.since, kept.behind].every(Number.isFinite) && Array.isArray(kept.left);
    if (!numbers || now() - kept.since > 3 * HOUR || kept.since > now() + 1) return null;
    return {...fresh(), ...kept};
  } catch { return null; }
}

/* ---- keys, touch, views ---- */

function view() {
  const clock = location.hash === "#clock";
  root.classList.toggle("clock-on", clock);
  $("to-sheet").toggleAttribute("aria-current", false);
  $("to-clock").toggleAttribute("aria-current", false);
  $(clock ? "to-clock" : "to-sheet").setAttribute("aria-current", "page");
  window.scrollTo(0, 0);
  show();
}

function toSection(index) {
  const section = data.sections[index];
  if (section) jump(section[2]);
}

function startOver() {
  if (!sure) { sure = now() + 5; put("b-over", "Really? Touch again to start over"); return; }
  sure = 0;
  pause();
  undo = null;
  state = fresh();
  toMix(state.at);
  put("b-over", "Start the class over");
  save();
}

const acts = {
  "b-run": () => (state.running ? pause() : start()), "b-back": () => shift(-MINUTE), "b-forth": () => shift(MINUTE),
  "b-still": stillBefore, "b-already": alreadyNext, "b-rest": toRest, "b-undo": goBack, "b-over": startOver,
};
for (const [id, act] of Object.entries(acts)) $(id).addEventListener("click", () => { act(); show(); });

const keys = {
  " ": "b-run", ArrowLeft: "b-back", ArrowRight: "b-forth", ArrowUp: "b-still", ArrowDown: "b-already",
  r: "b-rest", R: "b-rest", z: "b-undo", Z: "b-undo",
};
document.addEventListener("keydown", (event) => {
  if (!root.classList.contains("clock-on") || event.ctrlKey || event.metaKey || event.altKey) return;
  const inside = event.target.closest("button, summary, a");
  if (inside && (event.key === " " || event.key === "Enter")) return;
  if (event.key === "PageUp" || event.key === "PageDown") {
    const index = sectionIndex(classAt());
    toSection(event.key === "PageDown" ? index + 1 : Math.max(0, index - 1));
  } else if (keys[event.key]) acts[keys[event.key]]();
  else return;
  event.preventDefault();
  show();
});

data.sections.forEach((section, index) => {
  const button = document.createElement("button");
  button.type = "button";
  button.dataset.index = index;
  button.textContent = section[0] + " " + minutes(section[2]);
  button.addEventListener("click", () => { toSection(index); show(); });
  $("c-sections").append(button);
});

for (const touch of ["pointerdown", "keydown"]) {
  document.addEventListener(touch, () => { if (state.running && audioOk && audio.paused && !audio.ended) playMix(); }, true);
}
document.addEventListener("visibilitychange", () => { if (document.hidden) save(); else awake.ask(); });
window.addEventListener("pagehide", save);
window.addEventListener("hashchange", view);

setInterval(() => {
  follow();
  leaveOut();
  fade();
  if (state.running && position() >= data.to_s) pause();
  if (root.classList.contains("clock-on")) show();
  if (state.running && now() - savedAt > 1) save();
}, TICK_MS);

if (state.running) {
  hold(state.at + (now() - state.since));
  toMix(position());
  playMix();
  awake.ask();
} else toMix(state.at);
view();
})();
