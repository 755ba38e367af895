/* The class clock: shows where the class is and takes keys and touch. Time itself is in timing.js, the music in mix.js. */
(() => {
"use strict";
const data = JSON.parse(document.getElementById("class-data").textContent);
const {START, END} = STEP;
const KEY = "arcbed class " + data.id;
const MINUTE = 60, TICK_MS = 200, UNDO_S = 30, SPEEDS = [1, 2, 4, 8];
const root = document.documentElement;
const $ = (id) => document.getElementById(id);
const now = () => Date.now() / 1000;
const course = courseOf(data), timing = timingOf(data), awake = screenAwake(() => state.running);
const {minutes, hour} = words;
const {stretches, stepIndex, sectionIndex} = course;
const face = faceOf(data, course, $), put = face.put;

const kept = timing.restored(stored(), now());
let state = kept ? kept.state : timing.fresh(now());
let asking = Boolean(kept) && kept.ask;  // whether an old visit is gone on with
let undo = null, said = "", savedAt = 0, sure = 0;

const position = () => timing.position(state, now());
const classAt = () => timing.place(state, now());
const late = () => timing.late(state, now());

const mix = data.audio ? mixOf($("mix"), data.audio, data.from_s, {
  position, running: () => state.running, started: start, paused: pause,
  missing: () => tell("The mix does not lie beside this page, or can’t be played. The clock runs without it."),
  audible: () => { if (said.startsWith("Touch")) tell(""); },
  refused: () => tell("Touch anywhere, or press a key, to bring the music back."),
}) : null;
const playMix = () => { if (mix) mix.play(state.speed); };

/* ---- time ---- */

function follow() {
  if (state.running && mix && mix.sounding() && Math.abs(mix.heard() - position()) > 0.04) timing.hold(state, now(), mix.heard());
}

function start() {
  if (timing.isOver(state, now())) begin();
  asking = false;
  timing.start(state, now());
  playMix();
  awake.ask();
  save();
}

function pause() {
  timing.pause(state, now());
  if (mix) mix.hush();
  awake.release();
  save();
}

/* Everything anew: the same page may serve a second class, or the same one next week. */
function begin() {
  if (state.running) pause();
  asking = false;
  undo = null;
  state = timing.fresh(now());
  if (mix) { mix.stopFade(); mix.seek(state.at); }
  tell("");
  save();
}

/* A page left open is no other than one opened again. */
function lookAgain() {
  if (state.running || asking || state.planned === null || state.rehearsing) return;
  const found = timing.restored(state, now());
  if (!found && state.ended === null) begin();
  else if (found && found.ask) asking = true;
}

function rehearse() {
  const rehearsing = !state.rehearsing;
  begin();
  state.rehearsing = rehearsing;
  if (rehearsing) forget();
}

function quicker() {
  timing.hold(state, now(), position());
  state.speed = SPEEDS[(SPEEDS.indexOf(state.speed) + 1) % SPEEDS.length];
  playMix();
}

function moveTo(change) {
  if (mix) mix.stopFade();
  change();
  if (mix) mix.seek(state.at);
  playMix();
  save();
}

function jump(at) {
  undo = {at: position(), behind: state.behind, until: now() + UNDO_S};
  moveTo(() => timing.jump(state, now(), at));
}

function goBack() {
  if (!undo) return;
  const {at, behind} = undo;
  undo = null;
  moveTo(() => { timing.hold(state, now(), at); timing.standAt(state, now(), at - behind); });
}

function shift(seconds) {
  moveTo(() => timing.hold(state, now(), position() + seconds));
}

function toRest() {
  if (!data.rest || (mix && mix.fading()) || position() >= data.rest[0]) return;
  const arrive = () => { jump(data.rest[0]); if (!state.running) start(); };
  if (!mix || !mix.sink(data.fade_s, arrive)) arrive();
}

/* ---- where the class is ---- */

function stillBefore() {
  const index = stepIndex(classAt());
  if (index < 1) return;
  const before = stretches[index - 1];
  timing.standAt(state, now(), (before[START] + before[END]) / 2);
  save();
}

function alreadyNext() {
  const next = stretches[stepIndex(classAt()) + 1];
  if (!next) return;
  timing.standAt(state, now(), next[START]);
  save();
}

/* ---- what is shown ---- */

function show() {
  const at = position(), here = classAt();
  const resting = face.isResting(here);
  root.classList.toggle("night", resting && root.classList.contains("clock-on"));
  put("c-at", minutes(at));
  $("class-clock").dataset.at = at.toFixed(2);
  put("c-left", minutes(Math.max(0, data.class_s - at)) + " to go");
  put("c-wall", "now " + hour(now()));
  const share = (at - data.from_s) / (data.to_s - data.from_s);
  $("c-done").style.transform = "scaleX(" + share.toFixed(4) + ")";
  face.showClass(here, state.running);
  showMusic(at);
  showLate(resting);
  showButtons(at);
  face.markSection(here);
}

function showMusic(at) {
  const track = course.trackAt(at);
  const next = course.trackAfter(at);
  if (!track) { put("c-music", next ? "No music; track " + next[0] + " in " + minutes(next[2] - at) : "No music"); return; }
  const until = next ? next[2] : track[3];
  put("c-music", "Track " + track[0] + ", " + track[1] + ": " + minutes(until - at) + " left");
}

function showLate(resting) {
  const seconds = Math.round(late() / 5) * 5, isLate = !quiet() && !resting && seconds > NEAR_ENOUGH_S && state.ended === null;
  const open = isLate ? course.suggestions(classAt(), seconds - waitingToFall(), state.left) : {found: [], need: 0};
  const [strong, more] = asking ? words.ofVisit(state.at) : quiet() ? [state.rehearsing ? "Rehearsing: nothing is counted" : "", ""]
    : state.ended !== null ? words.ofEnd(seconds, ending(seconds))
    : resting ? ["Ends at " + hour(ending(seconds)), ""] : words.ofLateness(seconds, ending(seconds));
  face.showLate(strong, more, isLate);
  face.showDrops(open, isLate, waitingToFall(), Boolean(data.rest) && position() < data.rest[0], leaveOutLater);
}

/* Whether there is nothing yet that could be late. */
const quiet = () => state.rehearsing || (state.planned === null && state.behind === 0);

function leaveOutLater(drop) {
  for (const saving of drop.savings) state.left.push(...saving.spans);
  save();
  show();
}

const waitingToFall = () => course.waiting(classAt(), state.left);
/* The hour of the end, counted from the hour at which the class was to start. */
const ending = (seconds) => (state.planned === null ? now() - position() : state.planned) + data.class_s + seconds
  - Math.max(0, Math.min(waitingToFall(), seconds));

function showButtons(at) {
  const atStart = at <= data.from_s, atEnd = at >= data.to_s;
  put("b-run", state.running ? "Pause" : asking ? "Go on at " + minutes(at) : atStart ? "Start" : atEnd ? "Again" : "Go on");
  $("b-anew").hidden = !asking;
  put("b-rest", mix && mix.fading() ? "The music fades …" : "To the rest now");
  $("b-rest").disabled = !data.rest || at >= data.rest[0];
  if (undo && now() > undo.until) undo = null;
  $("b-undo").hidden = !undo;
  if (undo) put("b-undo", "Go back to " + minutes(undo.at));
  put("b-rehearse", state.rehearsing ? "End the rehearsal" : "Rehearse");
  $("b-rehearse").hidden = asking || !(state.rehearsing || (atStart && !state.running));
  $("b-speed").hidden = !state.rehearsing;
  put("b-speed", state.speed === 1 ? "Go through it quicker" : state.speed + " times as quick");
  if (sure && now() > sure) sure = 0;
  $("b-over").hidden = asking || state.rehearsing || (atStart && !state.running);
  put("b-over", sure ? "Really? Touch again to start over" : "Start the class over");
}

function tell(text) { said = text; put("c-say", text); }

/* ---- kept over a reload ---- */

function save() {
  savedAt = now();
  if (state.rehearsing) return;
  try { localStorage.setItem(KEY, JSON.stringify({...state, at: position(), since: state.running ? now() : state.since})); } catch { /* no storage: the clock runs all the same */ }
}

function stored() {
  try { return JSON.parse(localStorage.getItem(KEY)); } catch { return null; }
}

function forget() {
  try { localStorage.removeItem(KEY); } catch { /* nothing was kept */ }
}

/* ---- keys, touch, views ---- */

function view() {
  face.view(root);
  show();
}

function toSection(index) {
  const section = data.sections[index];
  if (section) jump(section[2]);
}

function startOver() {
  if (sure) begin();
  sure = sure ? 0 : now() + 5;
}

const acts = {
  "b-run": () => (state.running ? pause() : start()), "b-back": () => shift(-MINUTE), "b-forth": () => shift(MINUTE),
  "b-still": stillBefore, "b-already": alreadyNext, "b-rest": toRest, "b-undo": goBack, "b-over": startOver, "b-anew": begin, "b-rehearse": rehearse, "b-speed": quicker,
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

face.makeSections((index) => { toSection(index); show(); });

for (const touch of ["pointerdown", "keydown"]) {
  document.addEventListener(touch, () => { if (state.running && mix && mix.silent()) playMix(); }, true);
}
document.addEventListener("visibilitychange", () => { if (document.hidden) save(); else awake.ask(); });
window.addEventListener("pagehide", save);
window.addEventListener("hashchange", view);

/* Headset and lock screen, as far as the browser passes their keys on to a page with sound. */
if (mix && "mediaSession" in navigator) {
  if ("MediaMetadata" in window) navigator.mediaSession.metadata = new MediaMetadata({title: data.title});
  const passed = {play: start, pause, previoustrack: stillBefore, nexttrack: alreadyNext};
  for (const [key, act] of Object.entries(passed)) {
    try { navigator.mediaSession.setActionHandler(key, () => { act(); show(); }); } catch { /* this browser has no such key */ }
  }
}

setInterval(() => {
  follow();
  timing.catchUp(state, now());
  if (mix) mix.tick();
  if (state.running && timing.isOver(state, now())) pause();
  lookAgain();
  if (root.classList.contains("clock-on")) show();
  if (state.running && now() - savedAt > 1) save();
}, TICK_MS);

timing.catchUp(state, now());
if (mix) mix.seek(position());
if (state.running) {
  playMix();
  awake.ask();
}
view();
})();
