/* The closing rest: minutes, music, silence, bell; and how calm each candidate was measured. */

import {$, act, button, fill, get, h, name, onState, Refused, say, state} from "./tools.js";
import {hearClass, hearTrack} from "./player.js";

const view = $("view-rest");

export async function showRest() {
  if (!state.set) { fill(view, h("p", {}, "The rest comes with the music of a class. ", h("a", {href: "#class"}, "Choose the music first."))); return; }
  try {
    show(await get("/rest"));
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    fill(view, h("p", {}, "This class has no rest. Give the plan a section of kind “rest”."));
  }
}

function show(rest) {
  const minutes = h("input", {id: "rest-minutes", type: "number", min: 0.5, max: 60, step: 0.5, value: rest.minutes, "data-key": "rest-minutes"});
  const silence = h("input", {id: "rest-silence", type: "number", min: 0, max: 60, step: 0.5, value: rest.silence, "data-key": "rest-silence"});
  const start = h("input", {id: "rest-start", type: "checkbox", checked: rest.bell_start, "data-key": "rest-start"});
  const end = h("input", {id: "rest-end", type: "checkbox", checked: rest.bell_end, "data-key": "rest-end"});
  const form = h("form", {class: "restform", onsubmit: (event) => {
    event.preventDefault();
    const values = {minutes: minutes.valueAsNumber, silence: silence.valueAsNumber};
    if (Number.isNaN(values.minutes) || Number.isNaN(values.silence)) { say("Give minutes as numbers.", true); return; }
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
