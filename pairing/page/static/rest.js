/* The closing rest: minutes, music, silence, bell; and how calm each candidate was measured. */

import {$, act, button, fill, get, h, minutes as clockOf, name, onState, Refused, say, state} from "./tools.js";
import {hearClass, hearTrack} from "./player.js";

const view = $("view-rest");

let asking = null;

export async function showRest() {
  if (!state.set) { fill(view, h("p", {}, "The rest comes with the music of a class. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  asking?.abort();
  asking = new AbortController();
  try {
    show(await get("/rest", asking.signal));
  } catch (problem) {
    if (problem.name === "AbortError") return;
    if (!(problem instanceof Refused)) throw problem;
    fill(view, h("p", {}, "This class has no rest. Give the plan a section of kind “rest”."));
  }
}

const clock = (value) => clockOf(60 * value);
const asMinutes = (typed) => {
  const parts = /^\s*(\d+)(?::([0-5]\d)|[.,](\d+))?\s*$/.exec(typed);
  return !parts ? NaN : Number(parts[1]) + (parts[2] ? Number(parts[2]) / 60 : Number("0." + (parts[3] ?? 0)));
};

function show(rest) {
  const lasting = (id, value) => h("input", {id, type: "text", inputMode: "decimal", size: 6, autocomplete: "off", value: clock(value), "data-key": id});
  const minutes = lasting("rest-minutes", rest.minutes), silence = lasting("rest-silence", rest.silence);
  const start = h("input", {id: "rest-start", type: "checkbox", checked: rest.bell_start, "data-key": "rest-start"});
  const end = h("input", {id: "rest-end", type: "checkbox", checked: rest.bell_end, "data-key": "rest-end"});
  const form = h("form", {class: "restform", onsubmit: (event) => {
    event.preventDefault();
    const values = {minutes: asMinutes(minutes.value), silence: asMinutes(silence.value)};
    if (Number.isNaN(values.minutes) || Number.isNaN(values.silence)) { say("Give minutes as 7, 7.5 or 7:30.", true); return; }
    act("rest", {...values, bell_start: start.checked, bell_end: end.checked}, "The rest is made anew; everything before it stayed.");
  }},
    h("p", {class: "row"}, h("label", {}, "Minutes ", minutes), h("label", {}, "of these silent at the end ", silence)),
    h("p", {class: "row"}, h("label", {}, start, " a soft bell as it begins"), h("label", {}, end, " a soft bell at its end")),
    h("p", {class: "row"}, h("button", {type: "submit", class: "strong", id: "rest-go", "data-key": "rest-go"}, "Make it so"),
      button("Hear it", () => hearClass(state.set.sections.find((section) => section.kind === "rest")?.start_s ?? 0), {"data-key": "rest-hear"})));
  const first = rest.picks[0];
  fill(view,
    h("h2", {}, "The rest, from " + rest.at),
    form,
    h("p", {}, h("b", {}, "Music: "), rest.picks.length ? rest.picks.map((pick) => pick.n + ". " + pick.title).join(", ") : "none"),
    h("h2", {}, "How calm each one is"),
    h("ol", {class: "tracks"}, rest.candidates.map((track) => h("li", {class: "track-row" + (track.fit ? "" : " barred")},
      h("div", {class: "line"}, h("p", {}, h("b", {}, name(track.title)), track.artist ? h("span", {class: "by"}, " ", name(track.artist)) : null,
        h("span", {class: "why"}, h("b", {}, track.fit ? "fit: " : "not fit: "), name(track.why))),
        h("p", {class: "soft facts"}, track.length),
        h("div", {class: "row"}, button("Hear", () => hearTrack(track), {"aria-label": "Hear " + track.title, "data-key": "hear-" + track.id}),
          first && button("Take it", () => act("swap", {n: first.n, track: track.id}, "The rest has other music now."), {"aria-label": "Take " + track.title + " for the rest", "data-key": "take-" + track.id})))))),
    h("p", {class: "soft"}, "Calm is measured: energy, beat, voice, sudden rises, treble. Who lies there, and how loud it is in the room, only you can tell."));
}

onState((after, before) => { if (!view.hidden && (after.set?.mark !== before.set?.mark || after.library.usable !== before.library.usable)) showRest(); });
