/* One sound at a time: a track, a hand-over, or the class from any minute. */

import {$, get, minutes, Refused, say, state} from "./tools.js";

const audio = $("audio");
let playing = null; // {what, address, decoded, from_s: class second of the sound's beginning, or null}
let moving = false, asking = null;
const watchers = [];
export const onPlayed = (action) => watchers.push(action);

/* Asks first whether the sound is there, which says in words why not; of two asked for, the later one plays. */
async function hear(path, what, at = 0) {
  asking?.abort();
  asking = new AbortController();
  try {
    const found = await get(path, asking.signal);
    play(found, what, at - (found.from_s ?? 0));
  } catch (problem) {
    if (problem.name === "AbortError") return;
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
  }
}

function play(found, what, at) {
  const same = playing?.address === found.address;
  playing = {...found, what};
  audio.volume = found.volume ?? 1;
  if (!same) audio.src = found.address;
  $("player").hidden = false;
  $("p-what").textContent = what;
  document.body.classList.add("sounding");
  if (same || at > 0) audio.currentTime = Math.max(at, 0);
  audio.play().catch((problem) => {
    if (problem.name === "NotAllowedError") say("Press Play once more: the browser waits for you.");
  });
}

export const hearTrack = (track, from_s = 0) =>
  hear("/hear/track/" + track.id, track.title + (from_s > 1 ? ", from " + minutes(from_s) : ""), from_s);

export const hearJoin = (n, title, other = null) =>
  hear("/hear/join/" + n + (other === null ? "" : "?with=" + other), (n > 1 ? "Into " : "The beginning of ") + n + ": " + title, -Infinity);

export const hearClass = (at_s) => hear("/hear/class", "The class", at_s);

export function toggle() {
  if (audio.paused) audio.play().catch(() => {}); else audio.pause();
}

export function close() {
  asking?.abort();
  audio.pause();
  audio.removeAttribute("src");
  audio.load();
  playing = null;
  $("player").hidden = true;
  document.body.classList.remove("sounding");
  tell();
}

function tell() {
  const at = playing && playing.from_s !== null ? playing.from_s + audio.currentTime : null;
  for (const watcher of watchers) watcher(at);
}

function show() {
  const length = Number.isFinite(audio.duration) ? audio.duration : 0;
  $("p-run").textContent = audio.paused ? "Play" : "Pause";
  $("p-at").max = String(Math.max(length, 0.1));
  if (!moving) $("p-at").value = String(audio.currentTime);
  const shift = playing && playing.address?.startsWith("/sound/class") ? playing.from_s : 0;
  $("p-time").textContent = minutes(audio.currentTime + shift) + " of " + minutes(length + Math.min(shift, 0));
  $("p-at").setAttribute("aria-valuetext", $("p-time").textContent);
  tell();
}

for (const event of ["timeupdate", "play", "pause", "durationchange", "seeked", "ended"]) audio.addEventListener(event, show);
audio.addEventListener("error", () => {
  if (playing?.decoded && !audio.src.endsWith(playing.decoded)) { // the browser doesn't know its kind
    const at = audio.currentTime;
    audio.src = playing.decoded;
    audio.currentTime = at;
    audio.play().catch(() => {});
    return;
  }
  if (playing) say("This can’t be played here: " + playing.what + ". Its file may be gone, or the browser doesn’t know its kind.", true);
});
$("p-run").addEventListener("click", toggle);
$("p-end").addEventListener("click", close);
$("p-at").addEventListener("input", () => { moving = true; });
$("p-at").addEventListener("change", () => { moving = false; if (playing) audio.currentTime = Number($("p-at").value); });
