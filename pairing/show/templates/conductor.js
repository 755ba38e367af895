/* The conductor: which seconds of which track sound when, as a class is really taught. Pure: no page, no sound, no clock, no
   chance; the same plan and events give the same spans.

   Class seconds count from the planned first breath, real seconds (`r`) from the real one. A state is plain values:
     knots    the course ahead: [class second, real second], straight between them; a part left out takes no time
     ends     "stands": the class ends at `end`, whatever happens; "moves": everything moves along
     end      the real second of the end
     staying  the class second that goes on for as long as it needs, or null
     left     class spans [from, to] that are left out
     stays    [[r, seconds or null while it lasts, class second], ...]; ons: [[r, seconds saved], ...]
     spans    {track, pick, start, end, offset, fade_in, fade_out}: `offset` of the track sounds at real second `start`;
              fades lie inside start and end; what has begun stays, what is to come is laid anew at every event
     softer   [[r, on], ...]; told: [[r, end], ...], each new end that could not be avoided or was asked for
   The plan: class_s, from_s, rest [start, end] or null, sections, picks, tracks, bells_s, as `pairing/sets/live.py` gives them. */
const conductorOf = (plan) => {
"use strict";
const SOON_S = 0.4;       // what begins sooner is on its way to the loudspeaker already
const LATE_S = 30;        // so long after its end by the plan a track has been left behind by the class
const LEAVE_S = 8;        // On leaves within that
const NEAR_S = 4;         // so far from its moment a change may go to meet a bar or a phrase
const SINK_S = 4;         // the track before has faded so long after the rest began
const CROSS_S = 4;        // cross-fade of a change that the plan did not foresee
const LEAST_HEARD_S = 30; // a track that would be heard for less is left out
const LONGEST_STAY_S = 1800;
const MOST_LOOPS = 2;     // then a track made ready for the part takes over
const APART_S = 0.5;      // between two cross-fades
const LEAST_RATE = 0.5, MOST_RATE = 2;  // so much quicker or slower what is no peak may go before the peak does too
const SOFTER_DB = -8, DOWN_S = 0.5, UP_S = 2, REST_S_A_DB = 3;
const {picks, tracks, sections} = plan;
const tail_s = plan.rest ? plan.rest[0] : plan.class_s;  // from here on nothing changes but its beginning
const tailLength = plan.class_s - tail_s;
const byStart = (a, b) => a.start - b.start;

/* ---- the course of the class ---- */

function fresh(ends = "stands") {
  const state = {knots: [[plan.from_s, plan.from_s]], ends, end: plan.class_s, staying: null, left: [], spans: [], softer: [],
    told: [], stays: [], ons: []};
  return laid(state, plan.from_s - SOON_S, plan.from_s);
}

/* The class second at a real one, and the other way round. */
function place(state, r) {
  if (state.staying !== null) return state.staying;
  const {knots} = state, next = knots.findIndex((knot) => knot[1] > r);
  if (next === 0) return knots[0][0];
  const [c, at] = knots[(next < 0 ? knots.length : next) - 1];
  return next < 0 ? c + r - at : c + (r - at) * (knots[next][0] - c) / (knots[next][1] - at);
}

function moment(state, c) {
  const {knots} = state, next = knots.findIndex((knot) => knot[0] >= c);
  if (next === 0) return knots[0][1] + Math.min(c - knots[0][0], 0);
  const [from, at] = knots[(next < 0 ? knots.length : next) - 1];
  return next < 0 ? at + c - from : at + (c - from) * (knots[next][1] - at) / (knots[next][0] - from);
}

const tailAt = (state) => state.end - tailLength;

/* What lies between a class second and the rest: [length, kind], kind "left", "peak" or "plain". */
function stretchesFrom(state, c) {
  const inside = (spans, at) => spans.some(([from, to]) => at >= from && at < to);
  const peaks = sections.filter((section) => section.peak).map((section) => [section.start_s, section.end_s]);
  const edges = [...peaks, ...state.left].flat().filter((edge) => edge > c && edge < tail_s);
  const at = [c, ...new Set(edges.sort((a, b) => a - b)), tail_s];
  return at.slice(1).map((to, index) => {
    const middle = (at[index] + to) / 2;
    return [to - at[index], inside(state.left, middle) ? "left" : inside(peaks, middle) ? "peak" : "plain"];
  });
}

/* Real seconds a class second takes, by kind: the peak keeps its time as long as the others can give or take enough. */
function rates(stretches, available) {
  const sum = (kind) => stretches.reduce((total, part) => total + (part[1] === kind ? part[0] : 0), 0);
  const peak = sum("peak"), plain = sum("plain"), rate = (available - peak) / plain;
  if (plain > 0 && rate >= LEAST_RATE && rate <= MOST_RATE) return {left: 0, peak: 1, plain: rate};
  return {left: 0, peak: available / (peak + plain), plain: available / (peak + plain)};
}

/* The course from class second `c` at real second `r` on, with the end where it stands or has to move to. */
function charted(state, r, c) {
  if (c >= tail_s) return ended({...state, knots: [[c, r]]}, r, r + plan.class_s - c);
  const stretches = stretchesFrom(state, c), needs = stretches.reduce((sum, [length, kind]) => sum + (kind === "left" ? 0 : length), 0);
  const soonest = soonestRest(state, r);
  const begins = state.ends === "moves" ? r + Math.max(needs, soonest - r) : Math.max(tailAt(state), soonest);
  const rate = needs > 0 ? rates(stretches, begins - r) : {left: 0, peak: 0, plain: 0};
  const knots = [[c, r]];
  for (const [length, kind] of stretches) knots.push([last(knots)[0] + length, last(knots)[1] + length * rate[kind]]);
  last(knots)[1] = begins;
  return ended({...state, knots}, r, begins + tailLength);
}

/* The rest can begin once what sounds has sunk, and once nothing else is fading any more; where its own music is on the
   way already, with that. */
function soonestRest(state, r) {
  const now = sounding(state, r);
  if (now && now.start >= r && isOfTail(picks[now.pick])) return now.start + tail_s - picks[now.pick].start_s;
  return now ? Math.max(r + SOON_S + SINK_S, now.start + now.fade_in + APART_S) : r + SOON_S;
}

const last = (list) => list[list.length - 1];

function ended(state, r, end) {
  return Math.abs(end - state.end) < 0.01 ? state : {...state, end, told: [...state.told, [r, end]]};
}

/* ---- what sounds ---- */

const sounding = (state, r) => state.spans.filter((span) => span.pick >= 0 && span.start <= r + SOON_S && span.end > r + SOON_S).sort(byStart).pop();
const offsetAt = (span, r) => span.offset + r - span.start;
const isPlayed = (spans, index) => spans.some((span) => span.pick === index);

/* The pick that belongs to a class second; the coming one where none does. */
function pickAt(c) {
  const found = picks.findIndex((pick, index) => c < (index + 1 < picks.length ? picks[index + 1].start_s : Infinity));
  return found < 0 ? picks.length - 1 : found;
}

/* The state with everything that has not begun by `r` laid anew. */
function laid(state, r, c = place(state, r)) {
  const now = sounding(state, r);
  const begun = state.spans.filter((span) => span.start <= r + SOON_S).map((span) => (span === now ? {...span} : span));
  const work = {state, r, c, spans: begun};
  const cur = now ? last(begun.filter((span) => span.start === now.start && span.track === now.track)) : null;
  if (c < tail_s) layUntilTail(work, cur);
  else layTail(work, cur, r - c);
  return {...state, spans: work.spans.sort(byStart)};
}

function layUntilTail(work, cur) {
  const {state, r, c} = work;
  if (state.staying !== null) {
    if (cur) prolong(work, cur, r + LONGEST_STAY_S);
    return;
  }
  const begins = tailAt(state);
  if (cur && isOfTail(picks[cur.pick])) { layTail(work, cur, begins - tail_s); return; }
  const due = pickAt(c), coming = chosen(work, cur, due);
  const left = cur && isLeft(work, cur, due) && !coming.some((index) => index <= due), sounded = cur;
  if (left) cur = standIn(work, cur, due);
  const early = left && cur === sounded && coming.length && !picks[coming[0]].peak ? coming[0] : -1;  // nothing stands in
  for (const index of coming) {
    const urgent = index <= due || index === early;
    const at = isSilent(c) ? Math.max(moment(state, Math.min(soundsAgain(c), picks[index].start_s)), r + SOON_S) : r + SOON_S;
    cur = cur ? change(work, cur, index, urgent) : enter(work, index, at, 0);
  }
  if (cur) leave(work, cur, begins);
  layTail(work, null, begins - tail_s);
}

/* Whether the class is past what a span was to play to: where the next was heard already, or by half a minute, so that a
   change by the plan is none. */
const isLeft = (work, span, due) => (span.pick < due && isPlayed(work.spans, due)) || work.c > picks[span.pick].end_s + LATE_S;

/* The class has left a part for one whose tracks were heard already, as after going back: what was made ready for it plays,
   or, where nothing was, what comes after it. */
function standIn(work, cur, due) {
  const spare = picks[due].spare, from = Math.max(work.r + SOON_S, cur.start + cur.fade_in + APART_S);
  const until = Math.min(lastOf(cur), tailAt(work.state) - SINK_S - APART_S), cross = Math.min(CROSS_S, until - from);
  if (spare === null || cross < SOON_S || work.spans.some((other) => other.track === spare)) return cur;
  const at = exitNear(cur, [from, Math.min(work.r + LEAVE_S, until - cross), from], null);
  end(cur, at + cross, cross);
  const next = {track: spare, pick: due, start: at, end: at + tracks[spare].to_s - tracks[spare].from_s, offset: tracks[spare].from_s, fade_in: cross, fade_out: 0.05};
  work.spans.push(next);
  return next;
}

/* Where the plan sounds again after a silence, be it with a track that was heard already: what comes next comes then. */
const soundsAgain = (c) => picks.find((pick) => pick.start_s > c).start_s;
const isSilent = (c) => !picks.some((pick) => c >= pick.start_s && c < pick.end_s);
const isAfterRest = (pick) => plan.rest !== null && pick.start_s >= plan.rest[1] - 0.01;
const isOfTail = (pick) => pick.start_s >= tail_s - 0.01;

/* The picks to come before the rest, without those that would hardly be heard. One that was passed over may come after all
   where the class has gone back to it; none comes twice. */
function chosen(work, cur, due) {
  const {state, spans, r} = work;
  const open = picks.map((_, index) => index).filter((index) => index >= due && !isOfTail(picks[index]) && !isPlayed(spans, index));
  const follows = (index) => [...open, ...(cur ? [cur.pick] : [])].filter((other) => other > index).sort((a, b) => a - b)[0];
  const begins = (index) => (index === undefined ? tailAt(state) : moment(state, picks[index].start_s));
  const heard = (index) => begins(follows(index)) - Math.max(begins(index), r);
  const least = (index) => (picks[index].peak ? LEAVE_S + 2 : Math.min(LEAST_HEARD_S, (picks[index].end_s - picks[index].start_s) * 0.8));
  const kept = open.filter((index) => heard(index) >= least(index));
  return kept.length || cur || !open.length ? kept : [open[0]];
}

const overlapOf = (index) => (index > 0 ? Math.max(picks[index - 1].end_s - picks[index].start_s, 0) : 0);
const isApart = (index) => index > 0 && overlapOf(index) < 0.05;  // a silence lies between, or a change without a cross-fade

function enter(work, index, at, fade) {
  const pick = picks[index];
  const span = {track: pick.track, pick: index, start: at, end: at + tracks[pick.track].to_s - pick.track_s, offset: pick.track_s,
    fade_in: fade || pick.fade_in_s, fade_out: pick.fade_out_s};
  work.spans.push(span);
  return span;
}

/* One track gives way to the next at a place of it that can be left. */
function change(work, cur, index, urgent) {
  const {state, r} = work, apart = urgent ? 0.05 : APART_S, soonest = Math.max(r + SOON_S, cur.start + cur.fade_in + apart);
  const aim = urgent ? soonest : Math.max(moment(state, picks[index].start_s), soonest);
  if (isApart(index) && !urgent) {
    leave(work, cur, Math.max(moment(state, picks[index - 1].end_s), soonest));
    return enter(work, index, aim, 0);
  }
  const latest = tailAt(state) - SINK_S - APART_S;
  const cross = Math.min(overlapOf(index) || CROSS_S, Math.max((latest - aim) / 2, SOON_S));
  const span = lastOf(cur) >= aim + cross - NEAR_S && lastOf(cur) - cross > soonest ? cur : prolong(work, cur, aim + cross);
  const from = Math.max(soonest, span.start + span.fade_in + apart), lasts = Math.max(lastOf(span) - cross, from);
  const wished = Math.min(Math.max(aim, from), lasts);
  const window = urgent ? [from, Math.min(r + LEAVE_S, lasts), from] : [Math.max(aim - NEAR_S, from), Math.min(aim + NEAR_S, lasts), wished];
  const at = Math.min(exitNear(span, window, planned(span, index)), Math.max(latest - cross, from));
  end(span, at + cross, cross);
  return enter(work, index, at, cross);
}

/* Seconds of the track at which the plan leaves it for the next, where the next comes. */
const planned = (span, index) => (index > 0 && picks[index - 1].track === span.track
  ? picks[index - 1].track_s + picks[index].start_s - picks[index - 1].start_s : null);

/* The real second in a window [from, to, wished] at which a span is best left: near the wish, and where it hurts little. */
function exitNear(span, [from, to, wished], plannedExit) {
  const exits = plannedExit === null ? tracks[span.track].exits : [...tracks[span.track].exits, [plannedExit, 0]];
  let best = wished, least = 1.2;  // a fade anywhere
  for (const [second, cost] of exits) {
    const at = span.start + second - span.offset;
    const price = cost + Math.abs(at - wished) / 8;
    if (at >= from - 1e-6 && at <= to + 1e-6 && price < least) [best, least] = [at, price];
  }
  return best;
}

/* The last track before a silence or the rest sinks by itself: in the rest it has faded a little after the beginning. */
function leave(work, cur, at) {
  const sink = Math.abs(at - tailAt(work.state)) < 0.01 ? SINK_S : 0, pick = picks[cur.pick];
  const natural = cur.start + pick.end_s - pick.start_s, asPlanned = cur.track === pick.track && cur.offset === pick.track_s;
  if (asPlanned && natural >= at - 0.01 && natural <= at + sink + 0.01) { end(cur, natural, pick.fade_out_s); return; }
  const enough = lastOf(cur) >= at - 0.02;
  const span = enough ? cur : prolong(work, cur, at), until = Math.min(lastOf(span), at + sink);
  const most = until - Math.max(work.r + SOON_S, span.start + span.fade_in);
  end(span, until, Math.max(Math.min(Math.max(pick.fade_out_s, 2 * sink), most), 0.05));
}

/* The real second up to which a span's track lasts. */
const lastOf = (span) => span.start + tracks[span.track].to_s - span.offset;

function end(span, at, fade) {
  span.end = Math.min(at, lastOf(span));
  span.fade_out = Math.max(Math.min(fade, span.end - span.start - span.fade_in), 0.05);
}

/* ---- longer than the track ---- */

/* Goes on with what sounds until `until`, by what the track has, by places of it that sound alike, by another track made
   ready for this part, by a long cross-fade of its own; gives the span that sounds then. */
function prolong(work, span, until) {
  for (let loops = 0; ; loops += 1) {
    const lasts = lastOf(span);
    if (until <= lasts + 0.02 || loops > 500) { span.end = Math.max(Math.min(lasts, until), span.start + 0.05); return span; }
    const jump = loops < MOST_LOOPS || spareOf(work, span) === null ? jumpFrom(work, span, until - lasts) : null;
    const spare = jump ? null : spareOf(work, span);
    span = jump ? hop(work, span, jump) : spare !== null ? handOn(work, span, spare) : hop(work, span, soft(work, span));
  }
}

const firstOffset = (work, span) => offsetAt(span, Math.max(work.r + SOON_S, span.start + span.fade_in + APART_S));

/* The place to jump back from: enough in one go if there is such a one, the least heard first, then the latest. */
function jumpFrom(work, span, needed) {
  const from = firstOffset(work, span);
  const open = tracks[span.track].jumps.filter((jump) => jump[0] - jump[2] / 2 >= from && jump[0] > jump[1] + APART_S + jump[2]);
  const enough = open.filter((jump) => jump[0] - jump[1] >= needed);
  if (enough.length) return enough.reduce((a, b) => (rank(b) < rank(a) ? b : a));
  return open.length ? open.reduce((a, b) => (b[0] - b[1] > a[0] - a[1] ? b : a)) : null;
}

const rank = (jump) => jump[3] - jump[0] / 1000;

/* Where nothing sounds alike: from near the end to the body of the track, in a long cross-fade. */
function soft(work, span) {
  const track = tracks[span.track], from = firstOffset(work, span), room = track.to_s - from;
  const cross = Math.max(Math.min(track.soft[1], room * 0.8, (track.to_s - track.soft[0]) / 3), 0.05);
  return [track.to_s - cross / 2, Math.min(track.soft[0] + cross / 2, track.to_s - 1.5 * cross), cross];
}

function hop(work, span, [from, to, cross]) {
  const at = span.start + from - span.offset;
  const next = {track: span.track, pick: span.pick, start: at - cross / 2, end: at, offset: to - cross / 2, fade_in: cross, fade_out: 0.05};
  end(span, at + cross / 2, cross);
  work.spans.push(next);
  return next;
}

function spareOf(work, span) {
  const spare = span.pick >= 0 ? picks[span.pick].spare : null;
  return spare === null || work.spans.some((other) => other.track === spare) ? null : spare;
}

function handOn(work, span, spare) {
  const lasts = lastOf(span);
  const soonest = span.start + firstOffset(work, span) - span.offset, cross = Math.max(Math.min(CROSS_S, lasts - soonest), 0.05);
  const at = exitNear(span, [Math.max(soonest, lasts - cross - LEAVE_S), lasts - cross, lasts - cross], null);
  end(span, at + cross, cross);
  const next = {track: spare, pick: span.pick, start: at, end: at, offset: tracks[spare].from_s, fade_in: cross, fade_out: 0.05};
  work.spans.push(next);
  return next;
}

/* ---- the rest, and what follows: as planned, from its new second on ---- */

function layTail(work, cur, shift) {
  const {state, r, spans} = work;
  if (state.staying !== null) {
    if (cur && isAfterRest(picks[cur.pick])) prolong(work, cur, r + LONGEST_STAY_S);
    else if (cur && isOfTail(picks[cur.pick])) end(cur, Infinity, picks[cur.pick].fade_out_s);
    return;
  }
  if (cur && isOfTail(picks[cur.pick])) end(cur, picks[cur.pick].end_s + shift, picks[cur.pick].fade_out_s);
  picks.forEach((pick, index) => {
    if (!isOfTail(pick) || isPlayed(spans, index) || pick.end_s + shift <= r + SOON_S) return;
    const late = Math.max(r + SOON_S - pick.start_s - shift, 0);
    const playing = enter(work, index, pick.start_s + shift + late, index > 0 && isOfTail(picks[index - 1]) ? overlapOf(index) : 0);
    playing.offset += late;
    end(playing, pick.end_s + shift, pick.fade_out_s);
  });
  for (const at of plan.bells_s) {
    if (at + shift > r + SOON_S) spans.push({track: plan.bell, pick: -1, start: at + shift, end: at + shift + tracks[plan.bell].to_s, offset: 0, fade_in: 0, fade_out: 0});
  }
}

/* ---- events: (state, r, ...) to the state after them ---- */

const relaid = (state, r, c) => laid(charted(state, r, c), r, c);

/* The class is really at `c`: on the pose before, or on the next already. */
function standAt(state, r, c) {
  return relaid(settled(state, r), r, Math.min(Math.max(c, plan.from_s), plan.class_s));
}

/* What sounds goes on until Stay is pressed again, or On. */
function stay(state, r) {
  const now = sounding(state, r), c = Math.max(place(state, r), now && isOfTail(picks[now.pick]) ? tail_s : -Infinity);
  if (state.staying !== null || c >= plan.class_s) return goOn(state, r);
  return laid({...state, staying: c, stays: [...state.stays, [r, null, c]]}, r, c);
}

function goOn(state, r) {
  if (state.staying === null) return state;
  const c = state.staying;
  return relaid(settled(state, r), r, c);
}

function settled(state, r) {
  if (state.staying === null) return state;
  const stays = state.stays.map(([at, length, c]) => [at, length === null ? r - at : length, c]);
  return {...state, staying: null, stays};
}

/* To the next part; before the rest that is the rest, and in the rest a stay ends, nothing else. */
function on(state, r) {
  const c = place(state, r);
  const next = sections.find((section) => section.start_s > c + SOON_S);
  if (c >= tail_s || !next) return goOn(state, r);
  if (next.start_s >= tail_s - 0.01) return toRest(state, r);
  return relaid({...settled(state, r), ons: [...state.ons, [r, next.start_s - c]]}, r, next.start_s);
}

/* The rest begins as soon as the music has sunk, and keeps its minutes: the class ends that much earlier. */
function toRest(state, r) {
  const c = place(state, r);
  if (c >= tail_s) return goOn(state, r);
  const begins = soonestRest(state, r);
  const after = ended({...settled(state, r), ons: [...state.ons, [r, tail_s - c]], knots: [[c, r], [tail_s, begins]]}, r, begins + tailLength);
  return laid(after, r, c);
}

function leaveOut(state, r, spans) {
  const after = {...state, left: [...state.left, ...spans]};
  return state.staying === null ? relaid(after, r, place(state, r)) : after;
}

/* "stands" at a real second, or "moves". */
function endsAt(state, r, ends, end = state.end) {
  const after = {...state, ends, end};
  return state.staying === null ? relaid(after, r, place(state, r)) : after;
}

/* The wall's clock has gained so much on the sound's, by which `r` counts: where the end stands, it comes that much sooner
   in `r`, and is made up for as any lateness. A rest that has begun is not hurried: its end is told anew. */
function slipped(state, r, seconds) {
  return state.ends === "stands" ? endsAt(state, r, "stands", state.end - seconds) : state;
}

/* The end as it would be if nothing more were waited for. */
const endNow = (state, r) => (state.staying === null ? state.end : charted(settled(state, r), r, state.staying).end);

/* After the page was frozen, or opened again: the class went on, the music comes back where the class is. */
function back(state, r) {
  return laid(state, r, place(state, r));
}

const softer = (state, r, on) => ({...state, softer: [...state.softer, [r, on]]});

/* ---- softer while I speak ---- */

/* The gain of everything as knots [r, dB]: down at once, up again without ever rising against the rest's own fade. */
function softGain(state) {
  const knots = [];
  for (const [r, on] of state.softer) {
    const level = gainAt(knots, r);
    while (knots.length && last(knots)[0] > r) knots.pop();
    knots.push([r, level]);
    if (on) knots.push([r + DOWN_S, SOFTER_DB]);
    else knots.push(...rise(state, r, level));
  }
  return knots;
}

function rise(state, r, level) {
  const rest = plan.rest ? tailAt(state) : Infinity;
  const isOver = plan.rest && r > rest + plan.rest[1] - plan.rest[0];
  if (r + UP_S <= rest - 2 * SINK_S || isOver || level === 0) return [[r + UP_S, 0]];
  const from = Math.max(r, rest + plan.sinks_s);
  return [[from, level], [from - level * REST_S_A_DB, 0]];
}

function gainAt(knots, r) {
  const next = knots.findIndex((knot) => knot[0] > r);
  if (next === 0 || !knots.length) return 0;
  if (next < 0) return last(knots)[1];
  const [[from, low], [to, high]] = [knots[next - 1], knots[next]];
  return low + (high - low) * (r - from) / (to - from);
}

return {fresh, place, moment, tailAt, standAt, stay, on, toRest, leaveOut, endsAt, slipped, back, endNow, softer, softGain, gainAt, LEAVE_S};
};
