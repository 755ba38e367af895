/* The class clock of a page whose music follows the class: keys and touch become events of the conductor, its spans go to
   the player, and what the conductor knows of the class is shown. Real seconds (`r`) count from the first breath. */
(() => {
"use strict";
const data = JSON.parse(document.getElementById("class-data").textContent);
const {START, END} = STEP;
const live = data.live, KEY = "arcbed class taught " + data.id, TICK_MS = 200, FRESH_S = 600, TWICE_MS = 400, OFF_S = 1, SLIP_S = 0.5;
const SPEEDS = [1, 2, 4, 8], BEFORE_CHANGE_S = 8;
const root = document.documentElement;
const $ = (id) => document.getElementById(id);
const now = () => Date.now() / 1000;
const course = courseOf(data), conductor = conductorOf(live), log = logOf(data, course), awake = screenAwake(() => running());
const carrier = data.chunks ? chunksFrom(data.chunks) : chunksInside();
const {minutes, hour} = words;
const face = faceOf(data, course, $), put = face.put;

/* zero: the moment at which r is 0, null before the start; slip: by how much that has moved since the conductor heard of it;
   paused: whether the music was stopped, with r held; speed: of a rehearsal, which above 1 runs from r held at `left`. */
const fresh = () => ({zero: null, slip: 0, since: now(), paused: false, rehearsing: false, speed: 1, held: live.from_s, left: 0, music: conductor.fresh("stands"), log: log.fresh()});
let state = fresh(), asking = false, player = null, context = null, savedAt = 0, softUntil = 0, sure = 0, checking = false, turned = -Infinity;

const Context = window.AudioContext || window.webkitAudioContext;
const running = () => state.zero !== null && !state.paused;
const quick = () => running() && state.speed > 1;
const sounds = () => Boolean(player) && context.state === "running" && running() && !quick();
const r = () => (state.zero === null ? live.from_s : sounds() ? player.r() : state.paused ? state.held
  : quick() ? state.held + (now() - state.left) * state.speed : now() - state.zero);
const here = () => conductor.place(state.music, r());
const isOver = () => state.zero !== null && r() >= state.music.end && state.music.staying === null;

/* ---- sound ---- */

function ready() {
  if (player || !Context) return;
  context = new Context({sampleRate: live.rate, latencyHint: "playback"});
  player = playerOf(context, live, carrier);
  context.addEventListener("statechange", () => { if (context.state === "running" && running() && !quick() && !checking) comeBack(); });
}

/* The music goes on where the class is: after the start, a call, a dropped loudspeaker, a page that slept. */
function comeBack() {
  player.set(now() - state.zero);
  state.music = conductor.back(state.music, r());
  hand();
}

/* The sound's own clock is the class's: it may run quicker or slower than the wall's, or stand still for a moment where a
   device is starved. What that comes to is lateness like any other. A leap is a page that slept. */
function keepStep() {
  const off = now() - state.zero - player.r();
  if (Math.abs(off) > OFF_S) { comeBack(); return; }
  state.zero += off;
  state.slip += off;
  if (Math.abs(state.slip) < SLIP_S) return;
  state.music = conductor.slipped(state.music, r(), state.slip);
  state.slip = 0;
  hand();
}

function hand() {
  if (sounds()) {
    player.play(state.music.spans);
    player.softly(conductor.softGain(state.music));
    const next = state.music.spans.find((span) => span.start > r() && span.pick >= 0);
    if (next) player.prepare(next);
  }
  save();
}

function wake() {
  ready();
  if (context && context.state !== "running") context.resume().catch(() => {});
}

/* ---- events ---- */

const change = (event) => (...more) => {
  if (state.zero === null || isOver()) return;
  state.music = event(state.music, r(), ...more);
  hand();
};
const stay = change(conductor.stay), on = change(conductor.on), toRest = change(conductor.toRest), leaveOut = change(conductor.leaveOut);
const standAt = change(conductor.standAt), speak = change(conductor.softer), ends = change(conductor.endsAt);

function start() {
  wake();
  if (isOver()) begin();
  if (state.paused) { goOn(); return; }
  if (state.zero === null) {
    const planned = plannedStart();
    state.zero = now() - live.from_s;
    state.log.started = state.zero;
    if (!state.rehearsing && state.music.ends === "stands" && Math.abs(planned - state.zero) > 2) state.music = conductor.endsAt(state.music, live.from_s, "stands", planned + live.class_s - state.zero);
  }
  asking = false;
  if (player && context.state === "running") comeBack();
  awake.ask();
  save();
}

/* The hour of the plan counts where the class starts within a quarter of an hour of it. */
function plannedStart() {
  const actual = now() - live.from_s;
  if (data.start === null) return actual;
  const planned = new Date().setHours(0, 0, 0, 0) / 1000 + data.start;
  return Math.abs(planned - actual) <= 900 ? planned : actual;
}

/* A pause is a stay in silence; in a rehearsal nothing goes on meanwhile. */
function pause() {
  const at = r();
  if (!state.rehearsing && state.music.staying === null) state.music = conductor.stay(state.music, at);
  state.held = at;
  state.paused = true;
  if (player) player.hush();
  awake.release();
  save();
}

function goOn() {
  state.paused = false;
  if (state.rehearsing) { runFrom(state.held); return; }
  state.music = conductor.stay(state.music, now() - state.zero);
  if (player && context.state === "running") comeBack();
  awake.ask();
  save();
}

function begin() {
  if (player) player.hush();
  state = fresh();
  asking = false;
  forget();
}

/* ---- rehearsing: any place, any speed, nothing counted ---- */

function rehearse() {
  const rehearsing = !state.rehearsing;
  begin();
  state.rehearsing = rehearsing;
}

/* By the plan, whatever was tried before. */
function goTo(c) {
  if (state.zero === null) start();
  state.music = conductor.fresh("stands");
  runFrom(Math.min(Math.max(c, live.from_s), live.class_s - 1));
}

function runFrom(at) {
  Object.assign(state, {held: at, left: now(), zero: now() - at});
  if (state.paused || state.speed > 1) { if (player) player.hush(); }
  else if (player && context.state === "running") comeBack();
}

function quicker() {
  const at = r();
  state.speed = SPEEDS[(SPEEDS.indexOf(state.speed) + 1) % SPEEDS.length];
  runFrom(at);
}

/* Some seconds before the music changes next. */
function nextChange() {
  const at = here() + BEFORE_CHANGE_S + 1, next = live.picks.find((pick) => pick.start_s > at);
  goTo(next ? next.start_s - BEFORE_CHANGE_S : live.from_s);
}

function startOver() {
  if (sure) begin();
  sure = sure ? 0 : now() + 5;
}

function stillBefore() {
  const index = course.stepIndex(here());
  if (index > 0) { const before = course.stretches[index - 1]; standAt((before[START] + before[END]) / 2); note(); }
}

function alreadyNext() {
  const next = course.stretches[course.stepIndex(here()) + 1];
  if (next) { standAt(next[START]); note(); }
}

/* Held down, or pressed twice to stay down. */
function softDown() {
  if (state.zero === null || checking) return;
  if (isSoft() && softUntil === Infinity) { softUntil = 0; speak(false); return; }
  const twice = performance.now() - turned < TWICE_MS;
  turned = performance.now();
  softUntil = twice ? Infinity : 1;
  speak(true);
}

function softUp() {
  if (softUntil === 1) { softUntil = 0; speak(false); }
}

const isSoft = () => { const all = state.music.softer; return all.length > 0 && all[all.length - 1][1]; };

/* The loudest and the quietest ten seconds, before anyone comes. */
function levelCheck() {
  if (state.zero !== null || !live.check.length) return;
  wake();
  if (!player) return;
  checking = true;
  const spans = live.check.map(([track, second, gain], index) => ({track, pick: -2, start: index * 10.5, end: index * 10.5 + 10, offset: second, fade_in: 0.3, fade_out: 0.3, gain}));
  const play = () => { player.set(0); player.play(spans); };
  if (context.state === "running") play(); else context.resume().then(play, () => {});
  setTimeout(() => { checking = false; if (state.zero === null) player.hush(); show(); }, 21_000);
}

/* ---- what was taught ---- */

function note() {
  if (state.zero !== null && !state.paused && !state.rehearsing) log.seen(state.log, here(), r());
}

function download() {
  const text = JSON.stringify(log.written(state.log, state.music, data), null, 1);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], {type: "application/json"}));
  link.download = log.nameOf(state.log, data);
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/* ---- what is shown ---- */

function show() {
  const at = r(), c = here(), over = isOver();
  const resting = face.isResting(c) && !over;
  root.classList.toggle("night", resting && root.classList.contains("clock-on"));
  put("c-at", minutes(at));
  $("class-clock").dataset.at = at.toFixed(2);
  $("class-clock").dataset.here = c.toFixed(2);
  put("c-left", minutes(Math.max(0, endNow() - at)) + " to go");
  put("c-wall", "now " + hour(now()));
  $("c-done").style.transform = "scaleX(" + Math.min(Math.max((at - live.from_s) / (endNow() - live.from_s), 0), 1).toFixed(4) + ")";
  face.showClass(over ? data.class_s : c, running());
  face.markSection(c);
  showMusic(at);
  showEnd(at, c, resting, over);
  showButtons(over);
}

/* What keeps the music from sounding. A browser starts no sound by itself, nor goes on after a call. */
function trouble() {
  if (!Context) return "This browser can’t follow the class with its music. Play the mix, and use the sheet beside it.";
  if (quick() && !isOver()) return "The music is silent while you go through it quicker.";
  return running() && !isOver() && !sounds() ? "Touch anywhere, or press a key, to bring the music back." : "";
}

const endNow = () => conductor.endNow(state.music, r());
const lateBy = () => endNow() - data.class_s;

function showMusic(at) {
  const sounding = state.music.spans.filter((span) => span.pick >= 0 && span.start <= at && span.end > at).pop();
  const next = state.music.spans.find((span) => span.start > at && span.pick >= 0 && (!sounding || span.track !== sounding.track));
  const title = sounding ? live.tracks[sounding.track].title : "No music";
  const held = state.paused ? ", paused" : state.music.staying !== null ? ", and goes on" : next ? "; next in " + minutes(next.start - at) : "";
  put("c-music", title + held);
}

/* Compared with the plan, when the class began and ends, and what could be left out where it is behind. */
function showEnd(at, c, resting, over) {
  const behind = state.zero === null ? 0 : Math.round(timeLacking(at, c) / 5) * 5, end = state.zero === null ? null : state.zero + endNow();
  const isLate = !state.rehearsing && !over && !resting && state.zero !== null && !state.paused && behind > NEAR_ENOUGH_S;
  const open = isLate ? course.suggestions(c, behind, state.music.left) : {found: [], need: 0};
  put("c-say", trouble());
  const [strong, more] = asking ? words.ofVisit(r()) : state.rehearsing ? ["Rehearsing: nothing is counted", ""] : end === null ? ["", ""]
    : over ? ["Ended at " + hour(end), ""]
    : state.music.staying !== null ? [state.paused ? "Paused" : "Staying " + minutes(at - lastStay()), "; ends at " + hour(end)]
    : isLate ? [minutes(behind) + " to make up", "; ends at " + hour(end)]
    : ["Ends at " + hour(end), state.music.ends === "stands" ? "" : "; everything moves along"];
  face.showLate(strong, more, isLate);
  face.showDrops(open, isLate, course.waiting(c, state.music.left), Boolean(data.rest) && c < data.rest[0], (drop) => { leaveOut(drop.savings.flatMap((saving) => saving.spans)); show(); });
}

const lastStay = () => state.music.stays[state.music.stays.length - 1][0];

/* Seconds that what is left of the class would take longer than there is until the rest. */
function timeLacking(at, c) {
  const tail = live.rest ? live.rest[0] : data.class_s;
  if (c >= tail) return 0;
  const left = state.music.left.reduce((sum, [from, to]) => sum + Math.max(Math.min(to, tail) - Math.max(from, c), 0), 0);
  return tail - c - left - (conductor.tailAt(state.music) - at);
}

function showButtons(over) {
  const idle = state.zero === null, busy = !idle && !over;
  put("b-run", asking ? "Go on at " + minutes(r()) : idle ? "Start" : over ? "Again" : state.paused ? "Go on" : "Pause");
  $("b-run").classList.toggle("small", busy && !state.paused);
  $("b-anew").hidden = !asking;
  put("b-stay", state.music.staying !== null && !state.paused ? "Go on" : "Stay");
  $("b-stay").setAttribute("aria-pressed", String(state.music.staying !== null && !state.paused));
  for (const id of ["b-stay", "b-on", "b-soft", "b-still", "b-already"]) $(id).disabled = !busy;
  if (data.rest && here() >= data.rest[0] && state.music.staying === null) $("b-on").disabled = true;  // it leads nowhere there
  $("b-rest").disabled = !busy || !data.rest || here() >= data.rest[0];
  put("b-soft", softUntil === Infinity ? "As loud as before" : "Softer while I speak");
  $("b-soft").setAttribute("aria-pressed", String(isSoft()));
  put("b-ends", state.music.ends === "stands" ? "Let the end move along" : "Keep the end where it is");
  $("b-ends").hidden = !busy || state.rehearsing;
  $("b-check").hidden = !idle;
  put("b-rehearse", state.rehearsing ? "End the rehearsal" : "Rehearse");
  $("b-rehearse").hidden = asking || !(idle || state.rehearsing);
  for (const id of ["b-change", "b-speed"]) $(id).hidden = !state.rehearsing || idle;
  put("b-speed", state.speed === 1 ? "Go through it quicker" : state.speed + " times as quick");
  put("c-where", state.rehearsing ? "Go to a section" : "The class is at a section");
  put("b-check", checking ? "The loudest 10 s, then the quietest" : "Check the level");
  $("b-log").hidden = !over || state.rehearsing;
  if (sure && now() > sure) sure = 0;
  $("b-over").hidden = idle || asking || state.rehearsing;
  put("b-over", sure ? "Really? Touch again to start over" : "Start the class over");
}

/* ---- kept over a reload ---- */

function save() {
  savedAt = now();
  if (state.zero === null || state.rehearsing) return;
  try { localStorage.setItem(KEY, JSON.stringify({...state, since: now()})); } catch { /* no storage: the class runs all the same */ }
}

function forget() {
  try { localStorage.removeItem(KEY); } catch { /* nothing was kept */ }
}

/* A class that was running a moment ago goes on; an older one of today asks; anything else begins anew. */
function restore() {
  let kept = null;
  try { kept = JSON.parse(localStorage.getItem(KEY)); } catch { return; }
  if (!kept || !Number.isFinite(kept.zero) || !kept.music || !Array.isArray(kept.music.spans)) return;
  const away = now() - kept.since, same = new Date(kept.since * 1000).toDateString() === new Date().toDateString();
  if (away < 0 || (away > FRESH_S && (!same || kept.since - kept.zero >= kept.music.end))) return;
  if (away > FRESH_S) { asking = true; state = {...kept, held: kept.paused ? kept.held : kept.since - kept.zero, paused: true}; if (state.music.staying === null) state.music = conductor.stay(state.music, state.held); }
  else state = {...fresh(), ...kept};
}

/* ---- keys and touch ---- */

const acts = {
  "b-run": () => (running() && !isOver() ? pause() : start()), "b-anew": begin, "b-stay": () => { if (state.paused) start(); else stay(); }, "b-on": on,
  "b-rest": toRest, "b-still": stillBefore, "b-already": alreadyNext, "b-over": startOver, "b-check": levelCheck, "b-log": download,
  "b-rehearse": rehearse, "b-speed": quicker, "b-change": nextChange,
  "b-ends": () => ends(state.music.ends === "stands" ? "moves" : "stands"),
};
const did = (act) => { wake(); act(); show(); };
for (const [id, act] of Object.entries(acts)) $(id).addEventListener("click", () => did(act));
$("b-soft").addEventListener("pointerdown", () => did(softDown));
for (const up of ["pointerup", "pointercancel", "pointerleave"]) $("b-soft").addEventListener(up, () => did(softUp));
$("b-soft").addEventListener("keydown", (event) => { if (event.key === " " || event.key === "Enter") { event.preventDefault(); if (!event.repeat) did(softDown); } });
$("b-soft").addEventListener("keyup", (event) => { if (event.key === " " || event.key === "Enter") did(softUp); });

const keys = {
  " ": "b-run", s: "b-stay", PageUp: "b-stay", n: "b-on", PageDown: "b-on", r: "b-rest", ArrowUp: "b-still", ArrowDown: "b-already",
};
document.addEventListener("keydown", (event) => {
  if (!root.classList.contains("clock-on") || event.ctrlKey || event.metaKey || event.altKey) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (event.target.closest("button, summary, a") && (key === " " || key === "Enter")) return;
  if (key === "v") { if (!event.repeat) did(softDown); }
  else if (keys[key] && !event.repeat) did(acts[keys[key]]);
  else if (state.rehearsing && (key === "ArrowLeft" || key === "ArrowRight")) did(() => goTo(here() + (key === "ArrowLeft" ? -60 : 60)));
  else if (!keys[key]) return;
  event.preventDefault();
});
document.addEventListener("keyup", (event) => { if (event.key === "v" || event.key === "V") did(softUp); });

/* Headset and lock screen, as far as the browser passes their keys on. */
if ("mediaSession" in navigator) {
  if ("MediaMetadata" in window) navigator.mediaSession.metadata = new MediaMetadata({title: data.title});
  const passed = {play: start, pause, previoustrack: stay, nexttrack: on};
  for (const [key, act] of Object.entries(passed)) {
    try { navigator.mediaSession.setActionHandler(key, () => did(act)); } catch { /* this browser has no such key */ }
  }
}

face.makeSections((index) => { if (state.rehearsing) did(() => goTo(data.sections[index][2])); else if (state.zero !== null) { standAt(data.sections[index][2]); show(); } });
for (const touch of ["pointerdown", "keydown"]) document.addEventListener(touch, () => { if (running()) wake(); }, true);
document.addEventListener("visibilitychange", () => { if (document.hidden) save(); else awake.ask(); });
window.addEventListener("pagehide", save);
window.addEventListener("hashchange", () => { face.view(root); show(); });

function tick() {
  if (running() && !isOver()) {
    if (sounds()) keepStep();
    note();
    if (sounds()) player.play(state.music.spans);
    if (now() - savedAt > 2) save();
  } else if (isOver() && player && state.zero !== null && !state.log.ended && !state.rehearsing) { state.log.ended = state.music.end; awake.release(); save(); }
  if (root.classList.contains("clock-on")) show();
}

restore();
if (running()) awake.ask();
setInterval(tick, TICK_MS);
face.view(root);
show();
root.dataset.ready = "yes";
window.classTaught = {carrier, state: () => state, player: () => player, context: () => context, r, here};
})();
