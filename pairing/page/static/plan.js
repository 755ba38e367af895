/* The plan: the note, what follows from it, and how it is kept, byte for byte, in its file. */

import {$, act, button, fill, h, kept, name, onState, post, Refused, state} from "./tools.js";
import {ask, say} from "./say.js";
import {begin, showBegin} from "./begin.js";
import {earlier, showEarlier} from "./earlier.js";
import {findings} from "./findings.js";
import {goTo, insertLine, note, replaceText, showLines, showUnderstood, text} from "./note.js";
import {palette} from "./palette.js";
import {showTyped} from "./sight.js";

const SAVE_MS = 700;
const view = $("view-plan");
const told = h("p", {id: "plan-kept", class: "soft", role: "status"});
const slot = h("p", {id: "plan-slot", class: "slot", role: "status"});
const remedies = h("div", {class: "remedies"});
const table = h("div", {});
const found = h("div", {class: "findings", id: "plan-found"});
const questions = h("div", {id: "plan-questions"});
const work = h("div", {class: "planwork"}, h("div", {class: "written"}, h("h2", {class: "unseen", id: "plan-name"}), questions, note, told),
  h("div", {class: "follows"}, slot, remedies, palette(insertLine), table, found));
view.append(work, earlier, begin);

let known = {name: null, text: "", mark: null}, outlining = null, saving = 0, flying = 0, last = null;
const dirty = () => known.name !== null && text.value !== known.text;

function show(after) {
  work.hidden = !after.plan;
  showBegin(save);
  showEarlier(save);
  if (!after.plan) { known = {name: null, text: "", mark: null}; showTyped(null); return; }
  if (after.plan.name !== known.name || after.plan.mark !== known.mark) take(after.plan);
  $("plan-name").textContent = after.plan.name;
  showKept();
}

/* What the file holds now. Where it was changed in another tab while one typed here, what was typed in stays the one
   that this text is written over, so that the program notices and asks. */
function take(plan) {
  const other = plan.name !== known.name;
  if (!other && dirty() && !flying && text.value !== plan.text) return;
  if (other || (!flying && text.value !== plan.text)) {
    text.value = plan.text;
    text.setSelectionRange(0, 0);
    outline();
  }
  known = {...plan};
  if (other) { offerDraft(); showLines(); }
}

/* ---- a draft in the browser, for when the program ends while one types ---- */

let unanswered = null; // a draft that was offered: who types on meanwhile is asked again next time
const draft = () => "arcbed-draft:" + state.plan?.path;

async function offerDraft() {
  const there = await leftBehind(draft());
  if (there === null) return;
  const back = await ask("What you typed here last didn’t reach the file.", [["Put it back", true], ["Leave it", false]]);
  if (back !== null) { unanswered = null; kept(draft(), null); }
  if (back) replaceText(there);
}

/* A draft that nobody is about to keep: one that changes or goes while one waits is typed in another tab. */
async function leftBehind(of) {
  let before = unanswered = kept(of);
  while (before !== null && unanswered !== text.value) {
    await new Promise((done) => setTimeout(done, 2 * SAVE_MS));
    if (draft() !== of) return null;
    const now = kept(of);
    if (now === before) return unanswered;
    if (now !== null && now !== text.value) unanswered = now;
    before = now;
  }
  unanswered = null;
  if (kept(of) === text.value) kept(of, null);
  return null;
}

/* ---- typing ---- */

text.addEventListener("input", () => {
  kept(draft(), text.value);
  outline();
  clearTimeout(saving);
  saving = setTimeout(save, SAVE_MS);
  showLines();
  showKept();
});
text.addEventListener("blur", () => save());
addEventListener("beforeunload", (event) => { if (dirty()) { save(true); event.preventDefault(); } });
document.addEventListener("visibilitychange", () => { if (document.hidden) save(true); });

/* Asked at once; what is typed meanwhile is asked about as soon as the answer is there. */
async function outline() {
  if (outlining) { outlining = "again"; return; }
  outlining = "once";
  try {
    last = await post("/outline", {text: text.value});
    showOutline();
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    if (problem.answer.lost) say(problem.message, {grave: true});
  } finally {
    const again = outlining === "again";
    outlining = null;
    if (again) outline();
  }
}

async function save(leaving = false) {
  clearTimeout(saving);
  if (!dirty()) return true;
  const value = text.value, file = known.name, values = {text: value, base: known.mark};
  if (leaving === true) {
    fetch("/do/plan", {method: "POST", body: JSON.stringify(values), headers: {"Content-Type": "application/json"}, keepalive: value.length < 60000}).catch(() => {});
    return true;
  }
  flying += 1;
  const done = await act("plan", values).finally(() => { flying -= 1; });
  if (done && text.value === value) kept(draft(), unanswered);
  if (known.name === file) {
    showKept();
    if (done && dirty()) saving = setTimeout(save, SAVE_MS); // typed meanwhile
  }
  return done;
}

function showKept() {
  told.textContent = dirty() ? "Being kept…" : "Kept in " + known.name + ", just as typed.";
}

/* ---- what follows from it ---- */

const FITS = {fits: "It fits.", tight: "It just fits.", "too long": "It is too long."};

function showOutline() {
  const list = last.findings;
  if (!last.ok) {
    fill(slot, h("b", {}, "Nothing in it takes time yet."));
    fill(remedies);
    fill(table);
  } else {
    fill(slot, h("b", {}, last.class), last.range ? " (" + last.range + ")" : "", last.available ? [" of " + last.available + ". ", h("b", {class: last.fits === "too long" ? "grave" : ""}, last.left_over ? last.left_over + " is left over." : FITS[last.fits] || "")] : ". The note names no slot.");
    fill(remedies, last.remedies.length ? h("details", {open: last.fits === "too long"}, h("summary", {"data-key": "remedies"}, "Ways to make it fit"),
      h("div", {class: "row fold"}, last.remedies.map((remedy) => button(remedy.text, () => remedy_(remedy.id), {class: "small", "data-key": "remedy-" + remedy.id})))) : null);
    showTable();
    showUnderstood(last.lines, last.sections);
    showTyped(state.set && !dirty() && state.set.same_plan ? null : last.strip);
  }
  showQuestions(list);
  fill(found, findings(list.filter((finding) => !(finding.level === "must" && asksAt(finding))), (finding) => finding.line ? [" ", button("Show", () => goTo(finding.line), {class: "small", "data-key": "line-" + finding.line + finding.code, "aria-label": "Show it in the note"})] : null));
}

const asksAt = (finding) => last.lines?.some((line) => line.line === finding.line && !line.sure);

/* Where to begin; each is answered in its place. */
function showQuestions(list) {
  const open = (last.lines || []).filter((line) => !line.sure), clear = list.filter((finding) => finding.can_correct).length;
  const said = text.value.split("\n");
  fill(questions, open.length ? h("div", {class: "questions"},
    h("p", {}, h("b", {}, open.length === 1 ? "One line left a question: " : open.length + " lines left a question: "),
      open.slice(0, 6).map((line) => [button(name((said[line.line - 1] || "").trim().slice(0, 60)), () => goTo(line.line), {class: "small", "data-key": "to-" + line.line}), " "])),
    clear ? button("Take the likeliest answer for " + (clear === 1 ? "the clear one" : "the " + clear + " clear ones"), () => remedy_(null), {"data-key": "correct", id: "correct", class: "strong small"}) : null) : null);
}

async function remedy_(id) {
  try {
    const answer = await post("/remedy", id === null ? {text: text.value} : {text: text.value, id});
    replaceText(answer.text);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, {grave: true});
  }
}

function showTable() {
  fill(table, h("table", {class: "times"}, h("caption", {class: "unseen"}, "The parts and their times"),
    h("thead", {}, h("tr", {}, ["At", "Part", "Lasts", "Effort"].map((word) => h("th", {scope: "col"}, word)))),
    h("tbody", {}, last.sections.map((section) => h("tr", {class: section.kind === "rest" ? "rest" : ""},
      h("td", {class: "figures"}, section.at),
      h("th", {scope: "row"}, section.line ? button(name(section.name), () => goTo(section.line), {class: "linkish"}) : name(section.name), h("span", {class: "soft"}, " " + section.kind)),
      h("td", {class: "figures"}, section.lasts), h("td", {title: section.mets}, section.effort))))));
}

/* The part of the plan with this place among all. */
export function showSection(index) {
  const line = last?.ok ? last.sections[index]?.line : null;
  if (line) goTo(line);
}

/* While the plan is shown and the music is of an earlier one, the strip is that of the plan; in other views, of the class. */
export const enterPlan = () => { if (last?.ok && (!state.set || !state.set.same_plan)) showTyped(last.strip); };
export const leavePlan = () => { if (!dirty()) showTyped(state.set ? null : last?.ok ? last.strip : null); };

onState(show);
export {show as showPlan, save as savePlan, dirty as planIsDirty, showLines as layPlan};
