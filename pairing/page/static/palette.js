/* A palette for the note: headings and poses to press, which puts them below the line one is in, or to drag into it. */

import {asking, button, fill, h, Refused} from "./tools.js";
import {say} from "./say.js";

const HEADINGS = [["Arrive", "## Arrive: opening, quiet music"], ["Warm-up", "## Warm-up: warm-up, 3 rounds"], ["Flow, both sides", "## Flow: flow, both sides, 2 rounds"],
  ["Standing", "## Standing: standing"], ["Peak", "## Peak: peak, both sides"], ["Cool-down", "## Cool-down: cool-down"], ["Rest", "## Rest: rest, what is left, at least 5 minutes"]];
const MOMENTS = [["Say", "- say: welcome, 1 minute"], ["Pause", "- pause: water, 30 seconds"], ["Silence", "- silence, 1 minute"], ["Bell", "- bell"], ["Song", "- song: its title"]];
const POSES = ["child's pose", "cat-cow", "downward dog", "sun salutation A", "low lunge", "warrior two", "triangle", "chair", "tree", "plank", "cobra", "crow", "bridge", "pigeon", "seated forward fold", "supine twist", "savasana"];
const ask = asking();
const word = h("input", {id: "pose-word", type: "search", autocomplete: "off", size: 18, "aria-label": "Look for a pose"});
const poses = h("ul", {class: "plain", id: "poses", "aria-live": "polite"});
let put = () => {}, waiting = 0;

/* `insert` puts a line into the note. */
export function palette(insert) {
  put = insert;
  word.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(find, 120); });
  find();
  return h("details", {class: "palette", id: "palette", open: matchMedia("(min-width:900px)").matches}, h("summary", {"data-key": "palette"}, "Headings and poses to put in"),
    h("div", {class: "fold"}, h("p", {class: "soft"}, "A press puts it below the line you are in; or drag it where you want it."),
      h("div", {class: "chips", role: "group", "aria-label": "Headings"}, HEADINGS.map(chip)), h("div", {class: "chips", role: "group", "aria-label": "Moments"}, MOMENTS.map(chip)),
      h("p", {}, h("label", {}, "Poses ", word)), poses));
}

function chip([label, line]) {
  const made = button(label, () => put(line), {class: "chip", title: line, draggable: true});
  made.addEventListener("dragstart", (event) => event.dataTransfer.setData("text/plain", line + "\n"));
  return made;
}

async function find() {
  if (!word.value.trim()) { fill(poses, h("li", {class: "chips"}, POSES.map((pose) => chip([pose, "- " + pose])))); return; }
  try {
    const answer = await ask("/poses?words=" + encodeURIComponent(word.value));
    if (answer === null) return;
    fill(poses, answer.poses.map((pose) => h("li", {}, chip([pose.name, "- " + pose.name.toLowerCase()]), h("span", {class: "soft"}, " ", pose.also ? pose.also + "; " : "", pose.held, pose.sided ? "; two sides" : "", "; ", pose.effort,
      pose.cautions.length ? "; with care: " + pose.cautions.join(", ") : ""))),
      answer.poses.length ? (answer.more ? h("li", {class: "soft"}, "and " + answer.more + " more; another word finds them") : null) : h("li", {}, "No pose has this in its name. Your own poses go under “## Own poses”."));
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
  }
}
