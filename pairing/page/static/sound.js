/* One sound at a time, played where it was pressed: a track, a change, the class from any minute, or some in turn. */

import {$, get, h, minutes, Refused} from "./tools.js";
import {say} from "./say.js";

const audio = $("audio");
let playing = null; // {key, what, address, decoded, from_s: class second of its beginning or null, rest: sounds to follow}
let moving = false, asking = null;
const watchers = [];
export const onPlayed = (action) => watchers.push(action);

/* ---- what can be heard ---- */

export const ofTrack = (track, from_s = 0, n = null) => ({
  key: "track-" + track.id + "-" + Math.round(from_s) + "-" + (n ?? ""), path: "/hear/track/" + track.id + (n === null ? "" : "?n=" + n), at: from_s, what: track.title,
});
export const ofJoin = (n, title, other = null) => ({
  key: "join-" + n + "-" + (other ?? ""), path: "/hear/join/" + n + (other === null ? "" : "?with=" + other), at: -Infinity, what: (n > 1 ? "The change into " : "The beginning of ") + title,
});
export const ofClass = (at_s) => ({key: "class-" + Math.round(at_s), path: "/hear/class", at: at_s, what: "The class"});

/* Asks first whether the sound is there, which says in words why not; of two asked for, the later one plays. */
export async function hear(...sounds) {
  const [sound, ...rest] = sounds;
  asking?.abort();
  asking = new AbortController();
  show(sound.key);
  try {
    const found = await get(sound.path, asking.signal);
    play({...found, ...sound, at: sound.at - (found.from_s ?? 0), rest});
  } catch (problem) {
    if (problem.name === "AbortError") return;
    show();
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
  }
}

function play(found) {
  const same = playing?.address === found.address;
  playing = found;
  audio.volume = found.volume ?? 1;
  if (!same) audio.src = found.address;
  document.body.classList.add("sounding");
  if (same || found.at > 0) audio.currentTime = Math.max(found.at, 0);
  audio.play().catch((problem) => {
    if (problem.name === "NotAllowedError") say("Press once more: the browser waits for you.");
  });
  show();
}

export const isPlaying = () => playing !== null;
export function toggle() {
  if (audio.paused) audio.play().catch(() => {}); else audio.pause();
}

export function stop() {
  asking?.abort();
  audio.pause();
  audio.removeAttribute("src");
  audio.load();
  playing = null;
  document.body.classList.remove("sounding");
  show();
}

/* ---- buttons that play, and tell how far it is while they do ---- */

/* `sounds` are heard in turn. While it plays, the button stops it, and beside it one sees and chooses where it is. */
export function hearButton(sounds, words, props = {}) {
  const all = [sounds].flat(), element = h("span", {class: "hear"});
  const control = h("button", {type: "button", ...props}, h("span", {class: "sign", "aria-hidden": "true"}), h("span", {}, words));
  control.addEventListener("click", () => { if (element.classList.contains("on")) stop(); else hear(...all); });
  element.append(control);
  Object.assign(element, {keys: all.map((sound) => sound.key), control, words, label: props["aria-label"]});
  showOne(element, null);
  return element;
}

const isOf = (element) => playing && element.keys.includes(playing.key) && element.keys.length === playing.rest.length + 1 + element.keys.indexOf(playing.key);

function showOne(element, waiting) {
  const on = Boolean(isOf(element));
  element.classList.toggle("on", on);
  element.control.setAttribute("aria-busy", String(element.keys[0] === waiting));
  element.control.lastChild.textContent = on ? "Stop" : element.words;
  if (element.label) element.control.setAttribute("aria-label", on ? "Stop" : element.label);
  if (on && !element.where) element.append((element.where = progress()));
  if (!on && element.where) { element.where.remove(); element.where = null; }
}

function progress() {
  const range = h("input", {type: "range", min: 0, max: 1, step: 0.1, value: 0, "aria-label": "Where in it"});
  range.addEventListener("input", () => { moving = true; });
  range.addEventListener("change", () => { moving = false; audio.currentTime = Number(range.value); });
  return h("span", {class: "where"}, range, h("span", {class: "figures"}));
}

function show(waiting = null) {
  for (const element of document.querySelectorAll(".hear")) showOne(element, waiting);
  tell();
}

function tell() {
  const length = Number.isFinite(audio.duration) ? audio.duration : 0;
  const shift = playing?.address?.startsWith("/sound/class") ? playing.from_s : 0;
  for (const {where} of document.querySelectorAll(".hear.on")) {
    const [range, words] = where.children;
    range.max = String(Math.max(length, 0.1));
    if (!moving) range.value = String(audio.currentTime);
    words.textContent = minutes(audio.currentTime + shift) + " of " + minutes(length + Math.min(shift, 0));
    range.setAttribute("aria-valuetext", words.textContent);
  }
  const at = playing && playing.from_s !== null ? playing.from_s + audio.currentTime : null;
  for (const watcher of watchers) watcher(at);
}

for (const event of ["timeupdate", "play", "pause", "durationchange", "seeked"]) audio.addEventListener(event, tell);
audio.addEventListener("ended", () => { if (playing?.rest.length) hear(...playing.rest); else stop(); });
audio.addEventListener("error", () => {
  if (playing?.decoded && !audio.src.endsWith(playing.decoded)) { // the browser doesn't know its kind
    const at = audio.currentTime;
    audio.src = playing.decoded;
    audio.currentTime = at;
    audio.play().catch(() => {});
    return;
  }
  if (!playing) return;
  say(playing.what + " can’t be played here. Its file may be gone, or the browser doesn’t know its kind.", {grave: true});
  stop();
});
