/* Long work, in the same place in every view: what is done, how much of it, how long it still takes, and Stop. */

import {$, act, onState, state} from "./tools.js";
import {say} from "./say.js";

let told = state.job ? state.job.number : 0;

export function showJob(job) {
  const running = Boolean(job && job.state === "running");
  $("job").hidden = !running;
  if (running) {
    const checking = job.now.startsWith("checking "); // first of all, and soon done: what comes then counts for itself
    $("job-words").textContent = [job.title, checking ? "first your files are looked over" : amount(job), checking ? "" : left(job.left_s)].filter(Boolean).join(", ");
    $("job-now").textContent = job.now && !job.title.includes(job.now) ? job.now : "";
    if (job.total) { $("job-bar").max = job.total; $("job-bar").value = job.done; } else $("job-bar").removeAttribute("value");
  } else if (job && job.number !== told) {
    told = job.number;
    const words = (job.state === "stopped" ? "Stopped. What was finished is kept. " : "") + job.words + skipped(job);
    say(words, {grave: job.state === "failed"});
  }
}

function amount(job) {
  if (!job.total) return "";
  return job.unit ? job.done + " of " + job.total + " " + job.unit : Math.floor(100 * job.done / job.total) + " % done";
}

function left(seconds) {
  if (seconds === null || seconds === undefined) return "";
  if (seconds < 50) return "about " + Math.max(5, 5 * Math.round(seconds / 5)) + " seconds left";
  const whole = Math.round(seconds / 60);
  return whole < 2 ? "about a minute left" : "about " + whole + " minutes left";
}

function skipped(job) {
  const all = job.result?.left_out || [];
  if (!all.length) return "";
  const first = all.slice(0, 2).map((each) => each.file + " (" + each.why.replace(/\.$/, "") + ")").join("; ");
  return " Left out: " + first + (all.length > 2 ? "; and " + (job.result.count - 2) + " more, see “Music”" : "") + ".";
}

$("job-stop").addEventListener("click", () => act("stop", {}, "Stopping as soon as this one is done…"));
onState((after) => showJob(after.job));
