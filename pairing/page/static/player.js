/* One sound at a time: a track, a hand-over, or the class from any minute. */

import {$, minutes, say, state} from "./tools.js";

const audio = $("audio");
let playing = null; // {what, from_s: class second of the sound's beginning, or null}
let moving = false;
const watchers = [];
export const onPlayed = (action) => watchers.push(action);

/* A track is turned down to about the level it has in a class: recordings are louder than a bed of music. */
const BED_LUFS = -20;
const volumeOf = (loudness) => (loudness === null || loudness === undefined ? 0.6 : Math.min(1, 10 ** ((BED_LUFS - loudness) / 20)));

function play(address, what, {at = 0, volume = 1, from_s = null} = {}) {
  playing = {what, from_s, address};
  audio.volume = volume;
  audio.src = address;
  $("player").hidden = false;
  $("p-what").textContent = what;
  document.body.classList.add("sounding");
  if (at > 0) audio.currentTime = at;
  audio.play().catch((problem) => {
    if (problem.name === "NotAllowedError") say("Press Play once more: the browser waits for you.");
  });
}

export const hearTrack = (track, from_s = 0) =>
  play("/sound/track/" + track.id, track.title + (from_s > 1 ? ", from " + minutes(from_s) : ""), {at: from_s, volume: volumeOf(track.loudness)});

export function hearJoin(n, title, other = null) {
  const mark = "?v=" + state.set.mark + (other === null ? "" : "&with=" + other);
  const pick = state.set.picks[n - 1];
  play("/sound/join/" + n + mark, (n > 1 ? "Into " : "The beginning of ") + n + ": " + title, {
    from_s: other === null ? Math.max(pick.start_s - 5, state.set.origin_s) : null,
  });
}

export function hearClass(at_s) {
  const address = "/sound/class?v=" + state.set.mark;
  const at = Math.max(0, at_s - state.set.origin_s);
  if (playing && playing.address === address) { audio.currentTime = at; audio.play().catch(() => {}); return; }
  play(address, "The class", {at, from_s: state.set.origin_s});
}

export function toggle() {
  if (audio.paused) audio.play().catch(() => {}); else audio.pause();
}

export function close() {
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
  if (playing) say("This can’t be played here: " + playing.what + ". Its file may be gone, or the browser doesn’t know its kind.", true);
});
$("p-run").addEventListener("click", toggle);
$("p-end").addEventListener("click", close);
$("p-at").addEventListener("input", () => { moving = true; });
$("p-at").addEventListener("change", () => { moving = false; if (playing) audio.currentTime = Number($("p-at").value); });
