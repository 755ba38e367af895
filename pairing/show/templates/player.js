/* Plays spans sample by sample through Web Audio. Seconds of the conductor (`r`) become seconds of the audio clock by one
   offset; every beginning and end falls on a whole sample of it. Chunks come from a carrier, `fetchChunk(track, n)`, a promise
   of encoded bytes; at most MOST_HELD of them are kept decoded, beside those that sound within AHEAD_S. Each chunk holds some
   of the beginning of the next: inside that overlap one gives way to the other by straight ramps written into the samples,
   which add up to 1. `context` is an AudioContext, or an OfflineAudioContext for what is rendered to be measured. */
const playerOf = (context, live, fetchChunk) => {
"use strict";
const RATE = live.rate, CHUNK = live.chunk_s * RATE, OVERLAP = Math.round(live.overlap_s * RATE), RAMP = Math.round(0.005 * RATE);
const AHEAD_S = 40, MOST_HELD = 8, ENTER_S = 0.3, RISE_S = 1, CURVE = 128, LATE_S = 0.02;
const out = context.createGain(), soft = context.createGain();
soft.connect(out);
out.connect(context.destination);
out.gain.value = 10 ** (-live.lower_db / 20);
const held = new Map(), voices = new Map();  // decoded chunks, latest used last; spans that sound or soon will
const ahead_s = context.length ? context.length / RATE : AHEAD_S;  // what renders can't be fed meanwhile
let zero = 0;                                // the audio second at which r is 0
const faults = {late: 0, decode: 0};

const frames = (seconds) => Math.round(seconds * RATE);
const nameOf = (span) => span.track + " " + frames(span.start) + " " + frames(span.offset);

/* ---- chunks ---- */

/* A decoded chunk with its ramps: what lies before it fades over in its first samples, what follows in its last. */
async function chunk(track, n) {
  const key = track + " " + n;
  const found = held.get(key) || decoded(track, n);
  held.delete(key);
  held.set(key, found);
  for (const old of held.keys()) { if (held.size <= MOST_HELD) break; held.delete(old); }
  return found;
}

async function decoded(track, n) {
  try {
    const buffer = await context.decodeAudioData(await fetchChunk(track, n));
    for (let channel = 0; channel < buffer.numberOfChannels; channel += 1) ramped(buffer.getChannelData(channel), n > 0, n < live.tracks[track].chunks - 1);
    return buffer;
  } catch (problem) {
    faults.decode += 1;
    held.delete(track + " " + n);
    throw problem;
  }
}

const MIDDLE = Math.round(OVERLAP / 2) - Math.round(RAMP / 2);  // where the ramp of an overlap begins
function ramped(samples, follows, goesOn) {
  for (let i = 0; i < RAMP; i += 1) {
    const share = (i + 0.5) / RAMP;
    if (follows) samples[MIDDLE + i] *= share;
    if (goesOn && CHUNK + MIDDLE + i < samples.length) samples[CHUNK + MIDDLE + i] *= 1 - share;
  }
  if (follows) samples.fill(0, 0, MIDDLE);
  if (goesOn) samples.fill(0, CHUNK + MIDDLE + RAMP);
}

/* The chunks of a span with the samples of each that may be heard: [n, first sample in the chunk, sample of the track]. They go
   on to the end of each chunk; a span ends by its fade, so that its end can still move. */
function piecesOf(span) {
  const track = live.tracks[span.track], first = frames(span.offset) - frames(track.from_s);
  const last = first + frames(span.end) - frames(span.start), pieces = [];
  for (let n = Math.max(Math.floor((first - MIDDLE - RAMP) / CHUNK), 0); n < track.chunks && n * CHUNK + (n > 0 ? MIDDLE : 0) < last; n += 1) {
    const from = Math.max(first - n * CHUNK, n > 0 ? MIDDLE : 0);
    pieces.push([n, from, n * CHUNK + from - first]);
  }
  return pieces;
}

/* ---- voices: one span while it sounds ---- */

const at = (r) => frames(zero + r) / RATE;

function voiceOf(span) {
  const level = context.createGain(), fade = context.createGain();
  level.connect(fade);
  fade.connect(soft);
  const voice = {span, level, fade, sources: new Map(), asked: new Set()};
  levels(voice);
  fades(voice, context.currentTime);
  return voice;
}

/* The pick's own level, which may move with the seconds of its track, straight in dB: exponential in amplitude. */
function levels({span, level}) {
  const pick = span.pick >= 0 ? live.picks[span.pick] : null, own = pick && pick.track === span.track;
  const knots = own ? pick.levels : [[0, span.gain === undefined ? live.tracks[span.track].level : span.gain]];
  const begins = own ? span.start - (span.offset - pick.track_s) : span.start, now = context.currentTime;
  const moments = knots.map(([second, db]) => [zero + begins + second, db]), ahead = moments.filter(([when]) => when > now);
  level.gain.setValueAtTime(amplitude(between(moments, now)), now);
  for (const [when, db] of ahead) level.gain.exponentialRampToValueAtTime(amplitude(db), when);
}

const amplitude = (db) => 10 ** (db / 20);

/* The value at a moment of knots [moment, value], straight between them, level before and after. */
function between(knots, at) {
  const next = knots.findIndex(([when]) => when > at);
  if (next === 0) return knots[0][1];
  if (next < 0) return knots[knots.length - 1][1];
  const [[from, low], [to, high]] = [knots[next - 1], knots[next]];
  return low + (high - low) * (at - from) / (to - from);
}

/* A quarter turn of sine up and of cosine down; entered in its middle, it comes in within ENTER_S. */
function fades({span, fade}, now) {
  const gain = fade.gain, begins = at(span.start), ends = at(span.end), late = now > begins + LATE_S && span.pick >= 0;
  const up = late ? ENTER_S : span.fade_in, from = late ? now + 0.01 : Math.max(begins, now);
  gain.setValueAtTime(up > 0 ? 0 : 1, 0);
  if (up > 0 && from + up < ends) curve(gain, from, up, 0, 1);
  if (span.fade_out > 0) fall(gain, ends, Math.min(span.fade_out, Math.max(ends - from - up - 0.001, 0)));
}

function fall(gain, ends, seconds) {
  if (seconds > 0.002) curve(gain, ends - seconds, seconds, 1, 0);
  else gain.setValueAtTime(0, Math.max(ends, context.currentTime));
}

function curve(gain, from, seconds, low, high) {
  const points = new Float32Array(CURVE);
  for (let i = 0; i < CURVE; i += 1) {
    const angle = i / (CURVE - 1) * Math.PI / 2;
    points[i] = high > low ? Math.sin(angle) : Math.cos(angle);
  }
  points[CURVE - 1] = high;
  const begins = Math.max(from, context.currentTime);  // no time before now can be asked for
  gain.setValueCurveAtTime(points, begins, Math.max(seconds - (begins - from), 0.002));
}

/* Ends a voice elsewhere than it was to end; one that is falling already comes up again. */
function endElsewhere(voice, span) {
  const old = voice.span, gain = voice.fade.gain, ends = at(span.end), soonest = context.currentTime + LATE_S;
  const from = Math.max(soonest, at(old.start) + old.fade_in + 0.002), falls = at(old.end) - old.fade_out;
  const value = from > falls ? Math.cos(Math.min((from - falls) / old.fade_out, 1) * Math.PI / 2) : 1;
  gain.cancelScheduledValues(from);
  gain.setValueAtTime(value, from);
  if (value < 1 && ends > from + RISE_S + span.fade_out) gain.linearRampToValueAtTime(1, from + RISE_S);
  fall(gain, ends, Math.min(span.fade_out, ends - from - 0.002));
  for (const [n, source] of voice.sources) if (source.from >= ends) { drop(source); voice.sources.delete(n); voice.asked.delete(n); }
  voice.span = span;
}

function drop(source) {
  source.node.onended = null;
  try { source.node.stop(); } catch { /* it had not begun */ }
  source.node.disconnect();
}

function silence(voice) {
  for (const source of voice.sources.values()) drop(source);
  voice.fade.disconnect();
  voice.level.disconnect();
}

/* ---- what is played ---- */

/* Takes the spans as they are laid now: what is no longer there is dropped, what ends elsewhere is ended there. */
function play(spans) {
  const now = context.currentTime, wanted = new Map();
  for (const span of spans) if (at(span.end) > now && at(span.start) < now + ahead_s) wanted.set(nameOf(span), span);
  for (const [name, voice] of voices) {
    const span = wanted.get(name);
    if (!span && at(voice.span.end) > now) { silence(voice); voices.delete(name); }
    else if (!span) { if (at(voice.span.end) < now - 1) { silence(voice); voices.delete(name); } }
    else if (Math.abs(span.end - voice.span.end) > 0.5 / RATE || span.fade_out !== voice.span.fade_out) endElsewhere(voice, span);
  }
  for (const [name, span] of wanted) if (!voices.has(name)) voices.set(name, voiceOf(span));
  return fill();
}

/* Asks for the chunks that sound within the time ahead; gives a promise of all of them. */
function fill() {
  const now = context.currentTime, jobs = [];
  for (const voice of [...voices.values()].sort((a, b) => a.span.start - b.span.start)) {
    for (const [n, , after] of piecesOf(voice.span)) {
      const begins = at(voice.span.start) + after / RATE;
      if (voice.asked.has(n) || begins > now + ahead_s || begins + live.chunk_s < now) continue;
      voice.asked.add(n);
      jobs.push(chunk(voice.span.track, n).then((buffer) => sound(voice, n, buffer), () => voice.asked.delete(n)));
    }
  }
  return Promise.all(jobs);
}

function sound(voice, n, buffer) {
  const piece = piecesOf(voice.span).find((other) => other[0] === n);
  if (!piece || !voice.asked.has(n) || voices.get(nameOf(voice.span)) !== voice) return;
  let [, from, after] = piece, begins = frames(zero + voice.span.start) + after;
  const late = frames(context.currentTime > 0 ? context.currentTime + LATE_S : 0) - begins;
  if (late > 0) {
    if (voice.sources.size && late > frames(2 * LATE_S)) faults.late += 1;
    from += late; begins += late;
  }
  if (from >= buffer.length) return;
  const node = context.createBufferSource();
  node.buffer = buffer;
  node.connect(voice.level);
  node.start(begins / RATE, from / RATE);
  const source = {node, from: begins / RATE};
  voice.sources.set(n, source);
  node.onended = () => { node.disconnect(); if (voice.sources.get(n) === source) voice.sources.delete(n); };
}

/* The gain of everything, as knots [r, dB], straight in dB. */
function softly(knots) {
  const now = context.currentTime, gain = soft.gain;
  const ahead = knots.filter(([r]) => at(r) > now - 0.05);
  if (!ahead.length) return;
  gain.cancelScheduledValues(now);
  gain.setValueAtTime(gain.value, now);
  for (const [r, db] of ahead) gain.exponentialRampToValueAtTime(amplitude(db), Math.max(at(r), now + 0.01));
}

/* Puts r where the audio clock is now; everything sounding is begun again there. */
function set(r) {
  for (const voice of voices.values()) silence(voice);
  voices.clear();
  zero = frames(context.currentTime - r) / RATE;
}

function hush() {
  for (const voice of voices.values()) silence(voice);
  voices.clear();
}

/* Has the beginning of a span decoded, so that it can come in at a press. */
const prepare = (span) => { for (const [n] of piecesOf({...span, end: span.start + 2}).slice(0, 1)) chunk(span.track, n).catch(() => {}); };

return {play, fill, softly, set, hush, prepare, r: () => context.currentTime - zero, held: () => held.size, voices: () => voices.size, faults};
};

/* The carrier of a page that holds its sound itself: each chunk is the text of an element, base64. All that text would lie in
   the page's memory for the whole class, so one by one becomes a blob, which a browser keeps elsewhere, on disk where it is
   short of memory; a chunk whose blob can't be read back stays as it is, and so do those after it. */
const chunksInside = () => {
  const TEXT = "script[id^='sound-']", LAY_BY_MS = 20, blobs = new Map();
  const named = (element) => element.id.slice("sound-".length);

  function bytesOf(element) {
    const text = atob(element.textContent.trim()), bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
    return bytes;
  }

  async function layBy() {
    const element = document.querySelector(TEXT);
    if (!element) return;
    const blob = new Blob([bytesOf(element)]);
    try { await blob.slice(-1).arrayBuffer(); } catch { return; }
    blobs.set(named(element), blob);
    element.remove();
    setTimeout(layBy, LAY_BY_MS);
  }

  layBy();
  return async (track, n) => {
    const blob = blobs.get(track + "-" + n);
    return blob ? blob.arrayBuffer() : bytesOf(document.getElementById("sound-" + track + "-" + n)).buffer;
  };
};

/* The carrier of a page that comes from a server. */
const chunksFrom = (address) => async (track, n) => {
  const answer = await fetch(address + "/" + track + "/" + n);
  if (!answer.ok) throw new Error("no chunk " + track + "/" + n);
  return answer.arrayBuffer();
};
