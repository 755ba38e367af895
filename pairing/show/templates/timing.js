/* Where a class is in time, when its music is one mix. Class seconds count from the first breath; `position` is where the
   music is, `place` where the class is: the music less what the class hangs behind. `now` is in seconds since 1970 and
   always handed in; nothing here knows page or sound. A state is plain values, so that it can be kept and brought back. */
const timingOf = (data) => {
"use strict";
const HOUR = 3600, FRESH_S = 600;  // a page that was away for less goes on by itself

/* planned: the moment at which class second 0 was to be, null before the first start; ended: how late the class was when
   it ended, null before; seen: the place up to which `left`, the spans decided to be left out, has been looked at. */
const fresh = (now) => ({at: data.from_s, since: now, running: false, rehearsing: false, speed: 1, behind: 0,
  planned: null, ended: null, left: [], seen: data.from_s});

const reached = (state, now) => state.at + (state.running ? (now - state.since) * state.speed : 0);
const position = (state, now) => Math.min(reached(state, now), data.to_s);
const place = (state, now) => position(state, now) - state.behind;
const isOver = (state, now) => position(state, now) >= data.to_s;

function hold(state, now, at) {
  state.at = Math.min(Math.max(at, data.from_s), data.to_s);
  state.since = now;
}

/* Seconds late, below 0 when early; it stands still once the class has ended. */
function late(state, now) {
  if (state.ended !== null) return state.ended;
  return state.behind + (state.planned === null ? 0 : now - state.planned - reached(state, now));
}

function start(state, now) {
  hold(state, now, position(state, now));
  state.running = true;
  if (state.planned === null && !state.rehearsing) state.planned = plannedStart(state, now);
}

function pause(state, now) {
  hold(state, now, position(state, now));
  state.running = false;
}

/* The hour of the plan counts where the class starts within an hour of it. */
function plannedStart(state, now) {
  const actual = now - position(state, now);
  if (data.start === null) return actual;
  const midnight = new Date(now * 1000).setHours(0, 0, 0, 0) / 1000;
  const planned = midnight + data.start;
  return Math.abs(planned - actual) <= HOUR ? planned : actual;
}

/* Brings music and class to a place together; from a class that has ended, another one goes on there. */
function jump(state, now, at) {
  hold(state, now, at);
  state.behind = 0;
  if (state.ended !== null) Object.assign(state, {ended: null, planned: state.running ? now - state.at : null});
  state.seen = place(state, now);
}

/* Says where the class really is, while the music goes on. */
function standAt(state, now, at) {
  state.behind = position(state, now) - at;
  state.seen = at;
}

/* Does what time has brought, however long nobody looked: what is left out falls away, and the class ends. */
function catchUp(state, now) {
  while (dropNext(state, now));
  state.seen = place(state, now);
  if (state.running && !state.rehearsing && state.ended === null && state.seen >= data.class_s) state.ended = late(state, now);
}

function dropNext(state, now) {
  const here = place(state, now);
  const due = state.left.filter(([from]) => from >= state.seen && from <= here).sort((a, b) => a[0] - b[0])[0];
  if (!due) return false;
  state.behind -= due[1] - due[0];
  state.seen = due[1];
  return true;
}

/* What a kept state is worth now: {state, ask}, ask when it is an old visit of today that may be gone on with. A class that
   ended, a rehearsal, another day and what makes no sense begin anew. */
function restored(kept, now) {
  const numbers = kept && [kept.at, kept.since, kept.behind].every(Number.isFinite) && Array.isArray(kept.left);
  if (!numbers || kept.rehearsing || kept.since > now + 1) return null;
  const state = {...fresh(now), ...kept}, away = now - kept.since;
  if (away <= FRESH_S) return isOver(state, now) ? null : {state, ask: false};
  const begun = kept.planned !== null && kept.at < data.class_s && kept.ended === null;
  return begun && sameDay(kept.since, now) ? {state: {...state, since: now, running: false, seen: kept.at - kept.behind}, ask: true} : null;
}

const sameDay = (one, other) => new Date(one * 1000).toDateString() === new Date(other * 1000).toDateString();

return {fresh, position, place, isOver, hold, late, start, pause, jump, standAt, catchUp, restored};
};
