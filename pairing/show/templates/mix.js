/* The mix as a media element that keeps to the clock: `clock` says where the music should be. A mix that can't be played is
   told once, and everything here does nothing from then on. */
const mixOf = (element, source, from_s, clock) => {
"use strict";
const RISE_S = 4;
let usable = true, ours = false, waiting = false, fading = null, rising = null;

element.addEventListener("error", () => { usable = false; clock.missing(); });
element.addEventListener("waiting", () => { waiting = true; });
element.addEventListener("playing", () => { waiting = false; if (Math.abs(heard() - clock.position()) > 1) seek(clock.position()); });
element.addEventListener("pause", () => { if (!ours && clock.running() && !element.ended) clock.paused(); ours = false; });
element.addEventListener("play", () => { if (!clock.running()) clock.started(); });
element.src = source;

const heard = () => element.currentTime + from_s;
const sounding = () => usable && !element.paused && !element.ended && !element.seeking && !waiting && element.readyState > 2;
const silent = () => usable && element.paused && !element.ended;

function seek(at) {
  if (usable) element.currentTime = Math.max(0, at - from_s);
}

function play(speed) {
  if (!usable || !clock.running() || element.ended) return;
  element.playbackRate = speed;
  if (Math.abs(heard() - clock.position()) > 0.1) seek(clock.position());
  element.play().then(clock.audible, (problem) => { if (problem.name === "NotAllowedError") clock.refused(); });
}

function hush() {
  stopFade();
  if (usable && !element.paused) { ours = true; element.pause(); }
}

/* Sinks within `seconds`, then calls `then`; false where nothing can sink. Some phones leave the volume to their own
   buttons; there the music can only jump. */
function sink(seconds, then) {
  if (!sounding() || !canFade()) return false;
  fading = {from: Date.now() / 1000, seconds, volume: element.volume, then};
  return true;
}

function canFade() {
  const volume = element.volume;
  element.volume = volume * 0.5;
  const moved = element.volume !== volume;
  element.volume = volume;
  return moved;
}

function tick() {
  if (fading) {
    const share = (Date.now() / 1000 - fading.from) / fading.seconds;
    element.volume = fading.volume * Math.max(0, 1 - share) ** 2;
    if (share >= 1) arrive();
  } else if (rising) {
    const share = Math.min(1, (Date.now() / 1000 - rising.from) / RISE_S);
    element.volume = rising.volume * share;
    if (share >= 1) rising = null;
  }
}

function arrive() {
  const {volume, then} = fading;
  fading = null;
  then();
  element.volume = 0;
  rising = {from: Date.now() / 1000, volume};
}

function stopFade() {
  const volume = fading ? fading.volume : rising ? rising.volume : null;
  fading = rising = null;
  if (volume !== null) element.volume = volume;
}

return {heard, sounding, silent, seek, play, hush, sink, tick, stopFade, fading: () => Boolean(fading)};
};
