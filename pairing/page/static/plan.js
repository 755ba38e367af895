/* The plan as typed, beside its arc; what is wrong shows at its line; it is kept in its file byte for byte. */

import {$, act, ask, button, fill, get, h, minutes, name, onState, post, Refused, say, setState, size, state} from "./tools.js";
import {begin, showBegin} from "./begin.js";
import {earlier, showEarlier} from "./earlier.js";
import {drawn} from "./picture.js";
import {findings} from "./music.js";

const SAVE_MS = 700;
const ROOM_PX = 600; // with less beside the text, the wide drawing's words would be too small to read
const view = $("view-plan");
const text = h("textarea", {id: "plan-text", spellcheck: false, autocapitalize: "off", autocomplete: "off", wrap: "off", "aria-label": "The plan", "aria-describedby": "plan-kept"});
const gutter = h("div", {class: "gutter", "aria-hidden": "true"});
const kept = h("p", {id: "plan-kept", class: "soft", role: "status"});
const slot = h("p", {id: "plan-slot", class: "slot", role: "status"});
const figure = h("figure", {class: "class-picture"});
const table = h("div", {});
const remedies = h("div", {class: "remedies"});
const found = h("div", {class: "findings"});
const echo = h("ol", {class: "echo", id: "plan-echo", "aria-label": "What each line was taken for"});
const editor = h("div", {class: "editor"}, gutter, text, echo);
const questions = h("div", {id: "plan-questions"});
const work = h("div", {class: "two plan"}, h("div", {}, h("h2", {id: "plan-name"}), editor, kept, questions), h("div", {}, slot, figure, remedies, table));
const word = h("input", {id: "pose-word", type: "search", autocomplete: "off", size: 20});
const poses = h("ul", {class: "plain", id: "poses"});
const lookup = h("details", {}, h("summary", {}, "Look up a pose"), h("p", {}, h("label", {}, "Its name, or a part of it ", word)), poses);
view.append(work, lookup, found, earlier, begin);

let asking = null, wordTyped = 0;
word.addEventListener("input", () => { clearTimeout(wordTyped); wordTyped = setTimeout(findPoses, 120); });

async function findPoses() {
  asking?.abort();
  asking = new AbortController();
  if (!word.value.trim()) { poses.replaceChildren(); return; }
  try {
    const answer = await get("/poses?words=" + encodeURIComponent(word.value), asking.signal);
    fill(poses, answer.poses.map((pose) => h("li", {}, h("b", {}, pose.name), pose.also ? " (" + pose.also + ")" : "", ": ",
      pose.held, pose.sided ? "; has two sides" : "", "; " + pose.mets + " METs", pose.cautions.length ? h("span", {class: "soft"}, "; mind: " + pose.cautions.join(", ")) : null)),
      answer.poses.length ? (answer.more ? h("li", {class: "soft"}, "and " + answer.more + " more; another word finds them") : null) : h("li", {}, "No pose has this in its name. Your own poses go under “## Own poses”."));
  } catch (problem) {
    if (problem.name === "AbortError") return;
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
  }
}

let known = {name: null, text: "", mark: null}, outlining = null, saving = 0, flying = 0, last = null, marks = new Map();

let drawnAs = null;
/* Of the drawing beside the text; while the view is hidden, as for the whole page. */
const sizeHere = () => {
  const there = figure.parentElement.clientWidth;
  return there && there < ROOM_PX ? "narrow" : size();
};

const dirty = () => known.name !== null && text.value !== known.text;

function show(after) {
  work.hidden = lookup.hidden = found.hidden = !after.plan;
  showBegin(save);
  showEarlier(save);
  if (!after.plan) { known = {name: null, text: "", mark: null}; return; }
  if (after.plan.name !== known.name || after.plan.mark !== known.mark) {
    const other = after.plan.name !== known.name;
    if (other || (!flying && !dirty() && text.value !== after.plan.text)) {
      text.value = after.plan.text;
      outline();
    }
    known = {...after.plan};
    if (other) offerDraft();
  }
  if (drawnAs && drawnAs !== sizeHere()) outline();
  $("plan-name").textContent = after.plan.name;
  showKept();
}

/* ---- a draft in the browser, for when the program ends while one types ---- */

const draftKey = () => "arcbed-draft:" + state.plan?.path;
function inStore(work) { try { return work(localStorage); } catch { return null; } } // nothing is kept in this browser
const keepDraft = () => inStore((store) => store.setItem(draftKey(), text.value));
const dropDraft = () => inStore((store) => store.removeItem(draftKey()));

async function offerDraft() {
  const draft = inStore((store) => store.getItem(draftKey()));
  if (draft === null || draft === text.value) { dropDraft(); return; }
  const back = await ask("What you typed here last didn’t reach the file.", [["Put it back", true], ["Leave it", false]]);
  if (back) replaceText(draft);
  if (back !== null) dropDraft();
}

/* ---- typing ---- */

text.addEventListener("input", () => {
  keepDraft();
  outline();
  clearTimeout(saving);
  saving = setTimeout(save, SAVE_MS);
  showLines();
  showKept();
});
text.addEventListener("scroll", () => { gutter.scrollTop = echo.scrollTop = text.scrollTop; });
text.addEventListener("blur", () => save());
addEventListener("beforeunload", (event) => { if (dirty()) { save(true); event.preventDefault(); } });
document.addEventListener("visibilitychange", () => { if (document.hidden) save(true); });

/* Asked at once; what is typed meanwhile is asked about as soon as the answer is there. */
async function outline() {
  if (outlining) { outlining = "again"; return; }
  outlining = "once";
  try {
    drawnAs = sizeHere();
    last = await post("/outline?size=" + drawnAs, {text: text.value});
    showOutline();
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    if (problem.answer.lost) say(problem.message, true);
  } finally {
    const again = outlining === "again";
    outlining = null;
    if (again) outline();
  }
}

async function save(leaving = false) {
  clearTimeout(saving);
  if (!dirty()) return true;
  const value = text.value, name = known.name;
  if (leaving) {
    fetch("/do/plan", {method: "POST", body: JSON.stringify({text: value}), headers: {"Content-Type": "application/json"}, keepalive: value.length < 60000}).catch(() => {});
    return true;
  }
  flying += 1;
  const done = await act("plan", {text: value}).finally(() => { flying -= 1; });
  if (done && text.value === value) dropDraft();
  if (known.name === name) {
    showKept();
    if (done && dirty()) saving = setTimeout(save, SAVE_MS); // typed meanwhile
  }
  return done;
}

function showKept() {
  kept.textContent = dirty() ? "Being kept…" : "Kept in " + known.name + ", just as typed.";
}

/* ---- what follows from it ---- */

const FITS = {fits: "It fits.", tight: "It fits only just.", "too long": "It is too long."};

function showOutline() {
  slot.replaceChildren();
  if (!last.ok) {
    slot.append(h("b", {class: "grave"}, last.findings.length === 1 ? "One line is not understood yet." : last.findings.length + " things are not understood yet."), " The arc is that of before.");
    remedies.replaceChildren(corrections(last.findings));
  } else {
    slot.append(h("b", {}, last.class), " (" + last.range + ")", last.available ? [" of " + last.available + ". ", h("b", {class: last.fits === "fits" ? "" : "grave"}, FITS[last.fits] || "")].flat()[0] : ". No slot is named.");
    if (last.available) slot.append(h("b", {class: last.fits === "fits" ? "" : "grave"}, FITS[last.fits] || ""));
    figure.classList.toggle("small", drawnAs === "narrow");
    fill(figure, drawn(last.picture, null, null));
    fill(remedies, corrections(last.findings), last.remedies.length ? h("h3", {}, "To make it fit") : null,
      h("div", {class: "row"}, last.remedies.map((remedy) => button(remedy.text, () => remedy_(remedy.id), {"data-key": "remedy-" + remedy.id}))));
    showTable();
  }
  if (last.ok) showEcho();
  marks = new Map();
  const grave = {must: 3, should: 2, note: 1};
  for (const finding of last.findings) {
    if (finding.line && (grave[finding.level] || 0) > (grave[marks.get(finding.line)?.level] || 0)) marks.set(finding.line, finding);
  }
  showLines();
  const list = [...last.findings].sort((a, b) => (grave[b.level] || 0) - (grave[a.level] || 0));
  fill(found, list.length ? [h("h2", {}, last.ok ? "What the checks found" : "What is not understood"), findings(list, toLine)] : null);
}

/* Beside each line of the note: when it starts, how long it takes, what it was taken for; below, what isn't sure. */
function showEcho() {
  const count = text.value.split("\n").length, told = new Map(last.lines.map((line) => [line.line, line]));
  while (echo.childElementCount > count) echo.lastChild.remove();
  while (echo.childElementCount < count) echo.append(h("li", {}));
  [...echo.children].forEach((row, index) => {
    const line = told.get(index + 1), key = line ? [line.at, line.takes, line.says, line.sure, ...line.answers].join("|") : "";
    if (row.dataset.key === key) return;
    row.dataset.key = key;
    row.className = line && !line.sure ? "unsure" : "";
    fill(row, line ? [h("span", {class: "figures"}, line.takes ? line.at + " +" + line.takes + " " : ""), line.sure ? null : h("b", {}, "? "), line.says] : null);
    row.title = line ? line.says : "";
  });
  echo.scrollTop = text.scrollTop;
  const open = last.lines.filter((line) => !line.sure);
  fill(questions, open.map((line) => h("p", {}, button("Line " + line.line, () => goTo(line.line), {class: "small"}), " is taken as: " + line.says + ". ",
    line.answers.map((answer) => [button(answer.trim(), () => answerLine(line.line, answer), {class: "small", "data-key": "answer-" + line.line + answer}), " "]).flat())));
}

function answerLine(number, answer) {
  const lines = text.value.split("\n");
  lines[number - 1] = answer;
  replaceText(lines.join("\n"));
}

const toLine = (finding) => (finding.line ? [" ", button("Line " + finding.line, () => goTo(finding.line), {class: "small", "data-key": "line-" + finding.line + finding.code})] : null);

function corrections(list) {
  const count = list.filter((finding) => finding.can_correct).length;
  return count ? h("div", {class: "row"}, button("Correct what is clear (" + count + ")", () => remedy_(null), {"data-key": "correct", id: "correct"})) : null;
}

async function remedy_(id) {
  try {
    const answer = await post("/remedy", id === null ? {text: text.value} : {text: text.value, id});
    replaceText(answer.text);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    say(problem.message, true);
  }
}

/* As if typed, so that the browser's own undo takes it back. */
function replaceText(after) {
  const before = text.value;
  let start = 0, end = 0;
  while (start < before.length && start < after.length && before[start] === after[start]) start += 1;
  while (end < before.length - start && end < after.length - start && before[before.length - 1 - end] === after[after.length - 1 - end]) end += 1;
  text.focus();
  text.setSelectionRange(start, before.length - end);
  const put = after.slice(start, after.length - end);
  const done = put ? document.execCommand("insertText", false, put) : document.execCommand("delete");
  if (!done || text.value !== after) { text.value = after; text.dispatchEvent(new Event("input")); }
}

function goTo(line) {
  const lines = text.value.split("\n"), start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
  text.focus();
  text.setSelectionRange(start, start + (lines[line - 1] || "").length);
  text.scrollTop = Math.max(0, (line - 4) * lineHeight());
}

const lineHeight = () => parseFloat(getComputedStyle(text).lineHeight) || 20;

function showLines() {
  const count = text.value.split("\n").length;
  while (gutter.childElementCount > count) gutter.lastChild.remove();
  while (gutter.childElementCount < count) gutter.append(h("span", {}));
  [...gutter.children].forEach((row, index) => {
    const finding = marks.get(index + 1), level = finding ? finding.level : "";
    const mark = {must: "!", should: "·", note: ""}[level] || "";
    if (row.dataset.mark !== mark + level + count) {
      row.dataset.mark = mark + level + count;
      row.className = level;
      row.textContent = mark + " " + (index + 1);
    }
    row.title = finding ? finding.message : "";
  });
  gutter.scrollTop = text.scrollTop;
}

function showTable() {
  fill(table, h("table", {class: "times"}, h("caption", {class: "unseen"}, "The sections and their times"),
    h("thead", {}, h("tr", {}, ["At", "Section", "Lasts", "Effort"].map((word) => h("th", {scope: "col"}, word)))),
    h("tbody", {}, last.sections.map((section) => h("tr", {class: section.kind === "rest" ? "rest" : ""},
      h("td", {class: "figures"}, section.at),
      h("th", {scope: "row"}, section.line ? button(section.name, () => goTo(section.line), {class: "linkish"}) : name(section.name), h("span", {class: "soft"}, " " + section.kind)),
      h("td", {class: "figures"}, section.lasts), h("td", {class: "figures"}, section.mets + " METs"))))));
}

onState(show);
export {show as showPlan, save as savePlan, dirty as planIsDirty};
