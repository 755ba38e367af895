/* The page's life: which view is shown, keys, what changed outside. */

import {$, act, get, kept, onRoom, onState, post, refresh, Refused, setState, state} from "./tools.js";
import {ask, say} from "./say.js";
import {choose, chooseAt, chosenTrack, put, showClass} from "./class.js";
import {showJob} from "./job.js";
import {showLine} from "./line.js";
import {showMusic} from "./music.js";
import {enterPlan, layPlan, leavePlan, planIsDirty, savePlan, showPlan, showSection} from "./plan.js";
import {showReady} from "./ready.js";
import {showRest} from "./rest.js";
import {onSight} from "./sight.js";
import {hear, isPlaying, ofClass, ofJoin, toggle} from "./sound.js";

const VIEWS = {plan: () => { showPlan(state); layPlan(); enterPlan(); }, music: showMusic, class: showClass, rest: showRest, ready: showReady};
const PULSE_MS = 1500, JOB_MS = 400, WHILE_WORKING_MS = 4000;

const usual = () => (state.set ? "class" : state.next.view);

let here = null;
function route() {
  const wanted = location.hash.slice(1), view = wanted in VIEWS ? wanted : usual();
  if (here === "plan" && view !== "plan") leavePlan();
  if (here !== null && here !== view) scrollTo(0, 0);
  here = view;
  for (const each of Object.keys(VIEWS)) $("view-" + each).hidden = each !== view;
  VIEWS[view]();
  showLine(view);
}
addEventListener("hashchange", () => { say(""); route(); });

/* Pressing the strip goes to that place: of the plan where the plan is shown, else to the track that plays there. */
onSight({
  track: (n) => { if (here !== "class") location.hash = "class"; choose(n, here === "class"); },
  moment: (at_s, section) => {
    if (here === "plan") { showSection(section); return; }
    if (!state.set) return;
    location.hash = "class";
    chooseAt(at_s);
  },
  put,
});

/* ---- keys ---- */

addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey) return;
  const typing = event.target.closest("input:not([type=checkbox]):not([type=range]), textarea, select");
  if ((event.ctrlKey || event.metaKey) && !typing && state.set) {
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      if (key === "y" || event.shiftKey) act("redo", {}, "Done again."); else act("undo", {}, "Undone.");
    }
    return;
  }
  if (typing || event.ctrlKey || event.metaKey || !$("keys-on").checked) return;
  const view = Object.keys(VIEWS)[Number(event.key) - 1];
  if (view) {
    location.hash = view;
    $("view-" + view).hidden = false;
    $("view-" + view).focus({preventScroll: true});
    return;
  }
  if (event.key === "p" && isPlaying()) { toggle(); return; }
  const pick = chosenTrack();
  if (!pick || here !== "class") return;
  if (event.key === "h") hear(ofJoin(pick.n, pick.title));
  if (event.key === "c") hear(ofClass(pick.start_s));
});

/* ---- what changes without the page ---- */

let pulsing = false, asked = {plan: null, set: null};

async function pulse() {
  if (!pulsing) {
    pulsing = true;
    try {
      const now = await get("/pulse");
      if (lost) await goOn(); // what was asked before that knows nothing of it
      else await look(now);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      if (problem.answer.lost) showLost(problem.message);
    } finally { pulsing = false; }
  }
  setTimeout(pulse, state.job?.state === "running" ? JOB_MS : PULSE_MS);
}

/* ---- the program ends and comes back ---- */

let lost = false;
function showLost(words) {
  if (!lost || !$("say-words").textContent) say(words, {grave: true});
  lost = true;
  document.body.classList.add("lost");
}

/* The program that came back may have another class open, or none. */
async function goOn() {
  const path = state.plan?.path, there = await get("/state");
  lost = false;
  document.body.classList.remove("lost");
  if (path && there.plan?.path !== path) await act("bring", {path}); else setState(there);
  await savePlan();
  say("arcbed is back.");
}

$("close").addEventListener("click", async () => {
  const {job} = await get("/pulse").catch(() => state); // what is shown may have ended just now
  if (job?.state === "running" && !await ask("“" + job.title + "” isn’t finished. Close all the same?", [["Keep going", false], ["Close arcbed", true]])) return;
  if (!await savePlan()) return;
  try { await post("/close"); } catch (problem) { if (!(problem instanceof Refused)) throw problem; }
  showLost("arcbed is closed. Start it again, and this page goes on.");
});

let library = null, refreshed = 0;
async function look(now) {
  showJob(now.job);
  if (document.body.classList.contains("busy")) return;
  const finished = state.job?.state === "running" && now.job?.state !== "running", began = now.job?.state === "running" && state.job?.number !== now.job.number;
  const quiet = now.job?.state !== "running" || performance.now() - refreshed > WHILE_WORKING_MS; // what is heard already can be used
  if ((library !== null && library !== now.library && quiet) || finished || began) { await refresh(); refreshed = performance.now(); library = now.library; }
  if (library === null) library = now.library;
  if (now.job !== null) state.job = now.job;
  if (state.plan && now.plan !== state.plan.mark && now.plan !== asked.plan) await outside("plan");
  if (state.set && now.set !== state.set.mark && now.set !== asked.set) await outside("set");
}

async function outside(which) {
  const latest = await get("/state"), mark = (await get("/pulse"))[which]; // a change of our own may just have ended
  if (latest[which]?.mark === mark) { setState(latest); return; }
  if (document.body.classList.contains("busy")) return;
  asked[which] = mark;
  const file = which === "plan" ? "The plan" : "The class’s music";
  if (mark === null) { say(file + " is no longer where it was. What you see here is kept until it is written again.", {grave: true}); return; }
  if (!(which === "plan" && planIsDirty()) && await ask(file + " was changed elsewhere, in another tab or program.", [["Take it as it is there", true], ["Decide later", false]])) {
    await act("reload", {which}, "Taken as it is in the file.");
  }
}

onState((after) => { $("title").textContent = after.title; document.title = after.title; });
onRoom(() => { showLine(here); if (here === "plan") layPlan(); });

/* Single keys can be turned off, for those who speak to their computer (WCAG 2.1.4). */
$("keys-on").checked = kept("arcbed-keys") !== "off";
$("keys-on").addEventListener("change", () => kept("arcbed-keys", $("keys-on").checked ? "on" : "off"));

showPlan(state);
route();
refresh().catch(() => {});
setTimeout(pulse, PULSE_MS);
document.documentElement.dataset.ready = "yes";
