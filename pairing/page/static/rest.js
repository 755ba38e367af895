/* The closing rest: minutes, silence, bells, and its music, by how calm each track is. */

import {$, act, asking, button, drawing, fill, h, minutes as clockOf, name, onState, Refused, state} from "./tools.js";
import {say} from "./say.js";
import {hearButton, ofClass, ofTrack} from "./sound.js";

const view = $("view-rest");
const lasting = h("div", {}), music = h("div", {}), work = h("div", {class: "restwork"}, lasting, music);
const ask = asking();
let shown = null; // the rest that the form is of

export async function showRest() {
  if (!state.set) { fill(view, h("p", {}, "The rest comes with the class’s music. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  try {
    const rest = await ask("/rest");
    if (rest !== null) show(rest);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    fill(view, h("p", {}, "This class has no closing rest. Give the plan a part of kind “rest”."));
  }
}

const clock = (value) => clockOf(60 * value);
const asMinutes = (typed) => {
  const parts = /^\s*(\d+)(?::([0-5]\d)|[.,](\d+))?\s*$/.exec(typed);
  return !parts ? NaN : Number(parts[1]) + (parts[2] ? Number(parts[2]) / 60 : Number("0." + (parts[3] ?? 0)));
};

/* What is typed into the form stays as long as the rest is the same, whatever else changes. */
function show(rest) {
  const of = JSON.stringify([state.set?.name, rest.start_s, rest.minutes, rest.silence, rest.bell_start, rest.bell_end]);
  if (shown !== of) fill(lasting, h("h2", {}, "The rest, from " + rest.at), form(rest));
  shown = of;
  showMusic(rest);
  if (!view.contains(work)) fill(view, work);
}

function showMusic(rest) {
  const first = rest.picks[0];
  fill(music, h("h2", {}, "Its music"),
    h("p", {}, rest.picks.length ? [h("b", {}, rest.picks.map((pick) => pick.title).join(", then ")), rest.picks.length > 1 ? " play. " : " plays. "] : "None. ",
      rest.candidates.length > 1 || !rest.picks.length ? "Calmest first:" : "Nothing else of your music is calm enough."),
    h("ol", {class: "calm"}, rest.candidates.map((track) => candidate(track, first))),
    rest.more ? h("p", {class: "soft"}, "and " + rest.more + " more that are calm enough.") : null,
    rest.unfit ? h("details", {}, h("summary", {"data-key": "unfit"}, "Not calm enough, and why (" + rest.unfit + ")"),
      h("ol", {class: "calm"}, rest.others.map((track) => candidate(track, null))),
      rest.unfit > rest.others.length ? h("p", {class: "soft"}, "and " + (rest.unfit - rest.others.length) + " more.") : null) : null,
    h("p", {class: "soft"}, "Measured are energy, beat, voice, sudden rises and treble. Who lies there, and how loud it is in the room, only you can tell."));
}

function form(rest) {
  const field = (id, value) => h("input", {id, type: "text", inputMode: "decimal", size: 5, autocomplete: "off", value: clock(value), "data-key": id});
  const minutes = field("rest-minutes", rest.minutes), silence = field("rest-silence", rest.silence);
  const start = h("input", {id: "rest-start", type: "checkbox", checked: rest.bell_start, "data-key": "rest-start"});
  const end = h("input", {id: "rest-end", type: "checkbox", checked: rest.bell_end, "data-key": "rest-end"});
  return h("form", {class: "restform", onsubmit: (event) => {
    event.preventDefault();
    const values = {minutes: asMinutes(minutes.value), silence: asMinutes(silence.value)};
    if (Number.isNaN(values.minutes) || Number.isNaN(values.silence)) { say("Give minutes as 7, 7.5 or 7:30.", {grave: true}); return; }
    act("rest", {...values, bell_start: start.checked, bell_end: end.checked}, "The rest is as you wish; all before it has stayed.").then((done) => { if (done) { shown = null; showRest(); } });
  }},
    h("p", {class: "row"}, h("label", {}, "It lasts ", minutes, " minutes"), h("label", {}, "the last ", silence, " in silence")),
    h("p", {class: "row"}, h("label", {}, start, " a soft bell as it begins"), h("label", {}, end, " a soft bell at its end")),
    h("p", {class: "row"}, h("button", {type: "submit", class: "strong", id: "rest-go", "data-key": "rest-go"}, "Make it so"),
      hearButton(ofClass(rest.start_s), "Hear the rest", {"data-key": "rest-hear"})));
}

function candidate(track, first) {
  const words = track.fit ? [track.temper, track.voice].join(", ") : name(track.why);
  return h("li", {class: "offer" + (track.plays ? " plays" : "")},
    h("p", {class: "name"}, h("b", {}, name(track.title)), track.artist ? h("span", {class: "by"}, " ", name(track.artist)) : null, h("span", {class: "soft"}, " " + track.length)),
    h("div", {class: "row do"}, hearButton(ofTrack(track), "Hear", {class: "small", "aria-label": "Hear " + track.title, "data-key": "hear-" + track.id}),
      first && !track.plays && button("Take it", () => act("swap", {n: first.n, track: track.id}, "“" + track.title + "” plays in the rest now."), {class: "small take", "aria-label": "Take " + track.title + " for the rest", "data-key": "take-" + track.id})),
    drawing(track.shape), h("p", {class: "soft words", title: track.why}, track.plays ? [h("b", {}, "Plays in this rest"), track.fit ? ": " : ", though it isn’t calm: "] : null, words));
}

onState((after, before) => { if (!view.hidden && (after.set?.mark !== before.set?.mark || after.library.usable !== before.library.usable)) showRest(); });
