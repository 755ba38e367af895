/* The page's life: which view is shown, keys, what changed outside, the job under way. */

import {$, act, ask, fill, get, h, onState, post, refresh, Refused, say, setState, size, state} from "./tools.js";
import {chosenPick, showClass} from "./music.js";
import {planIsDirty, savePlan, showPlan} from "./plan.js";
import {showLibrary} from "./library.js";
import {showRest} from "./rest.js";
import {showAway} from "./away.js";
import {hearClass, hearJoin, toggle} from "./player.js";

const VIEWS = {plan: () => showPlan(state), class: showClass, library: showLibrary, rest: showRest, away: showAway};
const PULSE_MS = 1500, JOB_MS = 400, WHILE_WORKING_MS = 4000;

function usual() {
  if (state.set) return "class";
  return state.plan && state.library.usable ? "class" : state.plan || !state.library.usable ? (state.plan ? "library" : "plan") : "plan";
}

function route() {
  const wanted = location.hash.slice(1);
  const view = wanted in VIEWS ? wanted : usual();
  for (const each of Object.keys(VIEWS)) $("view-" + each).hidden = each !== view;
  for (const link of document.querySelectorAll("nav a")) {
    if (link.dataset.view === view) link.setAttribute("aria-current", "page"); else link.removeAttribute("aria-current");
  }
  VIEWS[view]();
  showNext();
}
addEventListener("hashchange", () => { say(""); route(); });

/* What is still missing to a class with music, and where it is made. */
function showNext() {
  const next = !state.plan || state.set ? null
    : state.library.usable ? ["class", "Choose the music"] : ["library", "Add your music"];
  const here = next && !$("view-" + next[0]).hidden;
  fill($("next"), next && !here ? ["Next: ", h("a", {href: "#" + next[0]}, next[1])] : null);
}

/* ---- keys ---- */

addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey) return;
  const typing = event.target.closest("input, textarea, select");
  if ((event.ctrlKey || event.metaKey) && !typing && state.set) {
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      if (key === "y" || event.shiftKey) act("redo", {}, "Done again."); else act("undo", {}, "Taken back.");
    }
    return;
  }
  if (typing || event.ctrlKey || event.metaKey || !$("keys-on").checked) return;
  const view = ["plan", "class", "library", "rest", "away"][Number(event.key) - 1];
  if (view) { location.hash = view; return; }
  if (event.key === "p" && !$("player").hidden) { toggle(); return; }
  const pick = chosenPick();
  if (!pick || $("view-class").hidden) return;
  if (event.key === "h") hearJoin(pick.n, pick.title);
  if (event.key === "c") hearClass(pick.start_s);
});

/* ---- what changes without the page ---- */

let pulsing = false, asked = {plan: null, set: null};

async function pulse() {
  if (!pulsing) {
    pulsing = true;
    try {
      const now = await get("/pulse");
      if (lost) await goOn();
      await look(now);
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
  lost = true;
  say(words, true);
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
  if (state.job?.state === "running" && !await ask("“" + state.job.title + "” isn’t finished. Close all the same?", [["Keep going", false], ["Close arcbed", true]])) return;
  if (!await savePlan()) return;
  try { await post("/close"); } catch (problem) { if (!(problem instanceof Refused)) throw problem; }
  showLost("arcbed is closed. Start it again, and this page goes on.");
});

let library = null, refreshed = 0;
async function look(now) {
  showJob(now.job);
  if (document.body.classList.contains("busy")) return;
  const finished = state.job?.state === "running" && now.job?.state !== "running";
  const quiet = now.job?.state !== "running" || performance.now() - refreshed > WHILE_WORKING_MS; // what is heard already can be used
  if ((library !== null && library !== now.library && quiet) || finished) { await refresh(); refreshed = performance.now(); library = now.library; }
  if (library === null) library = now.library;
  if (now.job !== null) state.job = now.job;
  if (state.plan && now.plan !== state.plan.mark && now.plan !== asked.plan) await outside("plan", now.plan);
  if (state.set && now.set !== state.set.mark && now.set !== asked.set) await outside("set", now.set);
}

async function outside(which, mark) {
  const latest = await get("/state"); // a change of our own may just have ended
  if ((which === "plan" ? latest.plan?.mark : latest.set?.mark) === mark) { setState(latest); return; }
  if (document.body.classList.contains("busy")) return;
  asked[which] = mark;
  const file = which === "plan" ? "The plan" : "The set";
  if (mark === null) { say(file + " is no longer where it was; what you see here is kept until it is written again.", true); return; }
  if (!(which === "plan" && planIsDirty()) && await ask(file + " was changed outside this page.", [["Take it as it is there", true], ["Decide later", false]])) {
    await act("reload", {which}, "Taken as it is in the file.");
  }
}

/* ---- the job ---- */

let told = state.job ? state.job.number : 0;
function showJob(job) {
  const running = Boolean(job && job.state === "running");
  $("job").hidden = !running;
  if (running) {
    $("job-words").textContent = job.title + (job.now && job.now !== job.title.replace("Writing ", "") ? ": " + job.now : "") + (job.total ? ", " + job.done + " of " + job.total : "");
    if (job.total) { $("job-bar").max = job.total; $("job-bar").value = job.done; } else $("job-bar").removeAttribute("value");
  } else if (job && job.number !== told) {
    told = job.number;
    const left = job.result?.left_out || [];
    const words = (job.state === "stopped" ? "Stopped; what was finished is kept. " : "") + job.words
      + (left.length ? " Left out: " + left.slice(0, 3).map((each) => each.file + " (" + each.why.replace(/\.$/, "") + ")").join("; ") + (left.length > 3 ? " and " + (job.result.count - 3) + " more" : "") + "." : "");
    say(words, job.state === "failed");
  }
}
$("job-stop").addEventListener("click", () => { act("stop", {}, "Stopping after what is at hand…"); });
onState((after) => { $("title").textContent = after.title; document.title = after.title; showJob(after.job); showNext(); });

/* Single keys can be turned off, for those who speak to their machine (WCAG 2.1.4). */
try { $("keys-on").checked = localStorage.getItem("arcbed-keys") !== "off"; } catch { /* nothing is kept in this browser */ }
$("keys-on").addEventListener("change", () => { try { localStorage.setItem("arcbed-keys", $("keys-on").checked ? "on" : "off"); } catch { /* the same */ } });

showPlan(state);
route();
if (size() !== "wide") refresh();
setTimeout(pulse, PULSE_MS);
document.documentElement.dataset.ready = "yes";
