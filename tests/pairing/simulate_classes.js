/* Classes that don't go by the plan, taught to the conductor by chance from a seed; what must hold is looked at from outside:
   simulationOf(conductorOf).main(classes, first seed) says what broke, with the seed that shows it, and how often. */
const simulationOf = (conductorOf) => {
"use strict";
/* mulberry32, a public-domain generator of 32 bits of state. */
function chance(seed) {
  return () => {
    seed = (seed + 0x6D2B79F5) | 0;
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
const between = (random, low, high) => low + (high - low) * random();

/* ---- an invented class with its music ---- */

function aTrack(random, length, clear) {
  const bar = clear ? between(random, 1.6, 2.6) : 0, exits = [], jumps = [];
  for (let at = bar || 8; at < length - 2; at += bar || between(random, 8, 20)) exits.push([at, random() < 0.15 ? 0.2 : 0.6]);
  const count = Math.floor(between(random, 0, 14));
  for (let n = 0; n < count; n += 1) {
    const to = between(random, 8, length * 0.6), from = between(random, to + 8, length - 8);
    if (from > to + 8) jumps.push([from, to, clear ? 0.1 : 4, between(random, 0, 0.6)]);
  }
  return {from_s: 0, to_s: length, exits, jumps, soft: [Math.min(10, length / 4), 6]};
}

function aPlan(random) {
  const kinds = ["opening", "warm-up", "flow", "peak", "cool-down"];
  const sections = [], picks = [], tracks = [];
  let at = 0;
  for (const kind of kinds) {
    const parts = kind === "flow" ? 2 : 1;
    for (let part = 0; part < parts; part += 1) {
      const length = between(random, 240, 780);
      sections.push({start_s: at, end_s: at + length, peak: kind === "peak"});
      at += length;
    }
  }
  const rest = [at, at + between(random, 300, 600)], class_s = rest[1] + (random() < 0.5 ? 120 : 0);
  let begin = random() < 0.3 ? -120 : 0;
  const from_s = begin;
  sections.forEach((section) => {
    const gap = random() < 0.06 ? 40 : 0;
    begin = Math.max(begin, section.start_s === 0 ? begin : section.start_s) + gap;
    while (begin < section.end_s - 1) {
      const left = section.end_s - begin, length = left < 300 ? left : between(random, 120, 280);
      const overlap = random() < 0.9 ? between(random, 1, 9) : 0;
      const track = tracks.push(aTrack(random, length + overlap + between(random, 0, 90), random() < 0.7)) - 1;
      picks.push({track, start_s: begin, end_s: begin + length + overlap, track_s: 0, fade_in_s: 0.5, fade_out_s: Math.max(overlap, 0.5), peak: section.peak, spare: null});
      begin += length;
    }
  });
  picks.forEach((pick, index) => {
    const next = picks[index + 1];
    if (!next) pick.end_s = Math.min(pick.end_s, rest[0] + 4);
    else if (next.start_s > pick.start_s + 30 && pick.end_s > next.start_s + 9) pick.end_s = next.start_s;
    if (random() < 0.5) pick.spare = tracks.push(aTrack(random, between(random, 100, 300), true)) - 1;
  });
  const silence = random() < 0.4 ? 90 : 0;
  for (let begins = rest[0]; begins < rest[1] - silence - 1;) {
    const ends = begins + 290 > rest[1] - silence ? rest[1] - silence : begins + 260, over = ends < rest[1] - silence ? 6 : 0;
    const track = tracks.push(aTrack(random, ends - begins + over + between(random, 0, 60), false)) - 1;
    picks.push({track, start_s: begins, end_s: ends + over, track_s: 0, fade_in_s: 6, fade_out_s: 8, peak: false, spare: null});
    begins = ends;
  }
  if (class_s > rest[1]) {
    const track = tracks.push(aTrack(random, 200, true)) - 1;
    picks.push({track, start_s: rest[1] + 5, end_s: class_s, track_s: 0, fade_in_s: 2, fade_out_s: 4, peak: false, spare: null});
  }
  const bell = tracks.push({from_s: 0, to_s: 6, exits: [], jumps: [], soft: [0, 0.05]}) - 1;
  return {class_s, from_s, rest, sections: [...sections, {start_s: rest[0], end_s: rest[1], peak: false}], picks, tracks, bell, bells_s: [rest[1] - 8], sinks_s: 60};
}

/* ---- teaching it ---- */

/* `drift`: by how much of its time the wall's clock gains on the sound's. */
function teach(plan, random, faults, seen = () => {}, drift = 0) {
  const conductor = conductorOf(plan);
  let state = conductor.fresh(random() < 0.85 ? "stands" : "moves"), now = plan.from_s, gained = 0, said = state.end;
  const events = [], waits = [], history = [];
  const open = () => now < state.end - 1;
  const log = (kind) => { events.push([kind, Math.round(now)]); };
  const apply = (next) => {
    const soonest = now + 0.4 + 4 + plan.class_s - plan.rest[0];
    if (next.told.length > state.told.length || next.ends === "moves") said = next.end + gained;
    if (Math.abs(next.end + gained - said) > 2) faults.push(["end moved untold", now, said, next.end + gained]);
    if (next.ends === "stands" && conductor.place(next, now) < plan.rest[0] && soonest < state.end - 0.1 && next.end > state.end + 2) faults.push(["end moved though there was room", now, state.end, next.end]);
    for (const span of state.spans) if (span.start <= now + 0.4 && !next.spans.some((other) => other.track === span.track && other.start === span.start)) faults.push(["what has begun was taken away", now]);
    state = next;
    seen(last(events)[0], now, state, conductor.place(state, now));
  };
  let late = between(random, 0, 480);
  while (open()) {
    const pace = between(random, 60, 540);
    history.push([now, Math.min(now + pace, state.end), state]);
    now += pace;
    if (!open()) break;
    if (drift) { log("slipped"); gained += pace * drift; apply(conductor.slipped(state, now, pace * drift)); }
    const c = conductor.place(state, now), kind = random();
    if (kind < 0.3) {
      log("late");
      const by = random() < 0.3 ? late : between(random, 0, late);
      late -= by;
      apply(conductor.standAt(state, now, c >= plan.rest[0] ? c : Math.max(c - by, 0)));
    }
    else if (kind < 0.55) {
      log("stay");
      apply(conductor.stay(state, now));
      const length = between(random, 5, 180);
      history.push([now, now + length, state]);
      now += length;
      if (state.staying !== null) apply(random() < 0.7 ? conductor.stay(state, now) : conductor.on(state, now));
    } else if (kind < 0.68) {
      log("on");
      const before = sounds(state, now + 0.41).pop();
      apply(conductor.on(state, now));
      const after = before && state.spans.find((span) => span.track === before.track && span.start === before.start);
      const next = state.spans.filter((span) => span.start > now + 0.39 && span.pick !== (before || {}).pick && span.pick >= 0).sort((a, b) => a.start - b.start)[0];
      if (before && next && after && conductor.place(state, now) < plan.rest[0] && plan.picks[before.pick].end_s < conductor.place(state, now) + 1) waits.push(after.end - after.fade_out - now);
    } else if (kind < 0.75) { log("early"); apply(conductor.standAt(state, now, Math.min(c + between(random, 5, 90), Math.max(c, plan.rest[0] - 1)))); }
    else if (kind < 0.83) { log("left out"); const from = c + between(random, 5, 300); if (from < plan.rest[0] - 90) apply(conductor.leaveOut(state, now, [[from, from + between(random, 10, 80)]])); }
    else if (kind < 0.9) { log("frozen"); const slept = between(random, 1, 30); history.push([now, now + slept, state]); now += slept; apply(conductor.back(state, now)); }
    else if (kind < 0.95) { log("reload"); apply(conductor.back(JSON.parse(JSON.stringify(state)), now)); }
    else if (kind < 0.965) { log("to the rest"); apply(conductor.toRest(state, now)); }
    else { log("softer"); apply(conductor.softer(conductor.softer(state, now, true), now + 8, false)); }
  }
  history.push([now, Math.max(state.end, now), state]);
  if (drift && Math.abs(state.end + gained - said) > 2) faults.push(["the end is not when it was said", said, state.end + gained]);
  look(plan, conductor, state, history, faults);
  return {waits, events, peak: peakShare(plan, conductor, state, history), state};
}

const sounds = (state, r) => state.spans.filter((span) => span.pick >= 0 && span.start <= r && span.end > r).sort((a, b) => a.start - b.start);

function look(plan, conductor, state, history, faults) {
  const spans = state.spans.filter((span) => span.pick >= 0).sort((a, b) => a.start - b.start);
  for (let r = spans[0].start; r < state.end; r += 0.25) if (spans.filter((span) => span.start <= r && span.end > r).length > 2) { faults.push(["three at once", r, spans.filter((span) => span.start <= r && span.end > r)]); break; }
  const picked = [];
  for (const span of spans) {
    const before = last(picked);
    if (before !== span.track) { if (picked.includes(span.track)) faults.push(["a track twice", span.track, span.start]); picked.push(span.track); }
    if (span.offset < -0.02 || span.offset + span.end - span.start > plan.tracks[span.track].to_s + 0.05) faults.push(["beyond the track", span]);
    if (span.fade_in + span.fade_out > span.end - span.start + 0.06) faults.push(["fades longer than the span", span]);
  }
  const stayed = state.stays.some(([, , c]) => c >= plan.rest[0]), opening = spans.find((span) => plan.picks[span.pick].start_s >= plan.rest[0] - 0.01);
  const begins = stayed ? opening.start : state.end - (plan.class_s - plan.rest[0]), shift = begins - plan.rest[0];
  for (const [from, to, was] of history) for (let r = from + 0.5; r < Math.min(to, begins - 0.1); r += 1) {
    if (sounds(state, r).length === 0 && !isPlannedSilence(plan, conductor.place(was, r))) { faults.push(["silence", r, conductor.place(was, r)]); break; }
  }
  const restless = plan.picks.filter((pick) => pick.start_s >= plan.rest[0] - 0.01 && pick.start_s < plan.rest[1]);
  if (!stayed) for (const pick of restless) {
    const span = spans.find((other) => other.track === pick.track);
    if (!span || Math.abs(span.start - pick.start_s - shift) > 0.01 || Math.abs(span.end - pick.end_s - shift) > 0.05) faults.push(["the rest is not whole", pick.start_s + shift, span]);
  }
  const others = spans.filter((span) => span.start < begins - 0.01 && span.end > begins + 4.05 && !restless.some((pick) => pick.track === span.track));
  if (others.length) faults.push(["a tail in the rest", begins, others]);
  const seams = spans.filter((span, index) => index && plan.picks[span.pick].start_s < plan.rest[1] && span.start > begins + 0.01 && span.start < begins + plan.rest[1] - plan.rest[0] && spans[index - 1].track === span.track);
  if (seams.length) faults.push(["a seam in the rest", seams]);
}

const last = (list) => list[list.length - 1];
function isPlannedSilence(plan, c) {
  return !plan.picks.some((pick) => c >= pick.start_s + 1 && c < pick.end_s - 1);
}

function peakShare(plan, conductor, state, history) {
  let inside = 0, matched = 0;
  for (const [from, to, was] of history) for (let r = from; r < to; r += 1) {
    const c = conductor.place(was, r), peak = plan.sections.find((section) => section.peak);
    if (c < peak.start_s || c >= peak.end_s) continue;
    inside += 1;
    if (sounds(state, r).some((span) => plan.picks[span.pick].peak)) matched += 1;
  }
  return inside > 20 ? matched / inside : null;
}

/* ---- all of them ---- */

function main(classes, first, drift = 0) {
  const faults = {}, shares = [], waits = [];
  let told = 0, same = true;
  for (let seed = first; seed < first + classes; seed += 1) {
    const found = [], random = chance(seed), plan = aPlan(random);
    const {waits: waited, peak, state, events} = teach(plan, random, found, undefined, drift);
    waits.push(...waited);
    if (peak !== null) shares.push(peak);
    told += state.told.length > 0;
    if (seed % 50 === 0) {
      const again = chance(seed), other = teach(aPlan(again), again, [], undefined, drift);
      same = same && JSON.stringify(other.state) === JSON.stringify(state);
    }
    for (const [what, ...where] of found) (faults[what] = faults[what] || []).push([seed, where, events.slice(-4)]);
  }
  const sorted = (list) => list.sort((a, b) => a - b);
  const at = (list, share) => (list.length ? sorted(list)[Math.min(list.length - 1, Math.floor(share * list.length))] : null);
  const summary = Object.fromEntries(Object.entries(faults).map(([what, all]) => [what, {times: all.length, first: all[0]}]));
  return {classes, same, faults: summary, told, waits: {count: waits.length, median: at(waits, 0.5), p95: at(waits, 0.95), most: at(waits, 1)},
    peak: {classes: shares.length, above: shares.filter((share) => share >= 0.8).length / shares.length, p01: at(shares, 0.01), p05: at(shares, 0.05), least: at(shares, 0), mean: shares.reduce((a, b) => a + b, 0) / shares.length}};
}

return {main, aPlan, teach, chance};
};
