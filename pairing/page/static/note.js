/* The note as a page of paper: as high as it is long, and beside each line what it was understood as, with questions
   and their answers in the place. A hidden copy of the text, wrapped in the same way, tells where each line lies. */

import {button, fill, h} from "./tools.js";

export const text = h("textarea", {id: "plan-text", spellcheck: false, autocapitalize: "off", autocomplete: "off", "aria-label": "The plan", "aria-describedby": "plan-kept"});
const mirror = h("div", {class: "mirror", "aria-hidden": "true"});
const echo = h("ol", {class: "echo", id: "plan-echo", "aria-label": "What each line was understood as"});
const card = h("div", {class: "linecard", id: "plan-line", role: "group", "aria-label": "This line", hidden: true});
export const note = h("div", {class: "notepage"}, h("div", {class: "paper"}, mirror, text, card), echo);

const PLAIN = ["the title", "a setting of the class"]; // said by the line itself
let told = new Map();
const narrow = () => getComputedStyle(echo).display === "none";

/* What the lines were understood as: {line, at, takes, says, sure, answers}; and the parts of the class, whose headings
   tell when they begin, how long they last and how hard they are. */
export function showUnderstood(lines, parts) {
  const shown = lines.filter((line) => !(line.sure && PLAIN.includes(line.says)));
  told = new Map(shown.map((line) => [line.line, line]));
  for (const part of parts) {
    const line = told.get(part.line);
    if (line?.sure) told.set(part.line, {...line, at: part.at, takes: part.lasts, says: part.kind + ", " + part.effort, part: true});
  }
  showLines();
}

/* ---- lines and where they lie ---- */

export function showLines() {
  const lines = text.value.split("\n");
  while (mirror.childElementCount > lines.length) mirror.lastChild.remove();
  while (mirror.childElementCount < lines.length) mirror.append(h("div", {}));
  lines.forEach((line, index) => {
    const row = mirror.children[index], known = told.get(index + 1);
    if (row.textContent !== (line || "\u200b")) row.textContent = line || "\u200b";
    row.className = known && !known.sure && line.trim() ? "unsure" : /^\s*#/.test(line) ? "heading" : "";
  });
  showEcho();
  showCard();
}

function showEcho() {
  const rows = [...told.values()].filter((line) => line.line <= mirror.childElementCount);
  while (echo.childElementCount > rows.length) echo.lastChild.remove();
  while (echo.childElementCount < rows.length) echo.append(h("li", {}));
  rows.forEach((line, index) => {
    const row = echo.children[index], key = [line.line, line.at, line.takes, line.says, line.sure, ...line.answers].join("|");
    if (row.dataset.of === key) return;
    row.dataset.of = key;
    row.className = line.part ? "part" : line.sure ? "" : "unsure";
    fill(row, understood(line));
  });
  if (!narrow()) placeEcho(rows);
}

/* Beside its line; a question with its answers may take more room than its line, then the next ones give way. */
function placeEcho(rows) {
  const tops = rows.map((line) => mirror.children[line.line - 1].offsetTop), highs = [...echo.children].map((row) => row.offsetHeight);
  let free = 0;
  rows.forEach((_, index) => {
    const top = Math.max(tops[index], free);
    echo.children[index].style.setProperty("--top", top + "px");
    free = top + highs[index];
  });
}

function understood(line) {
  return [
    h("span", {class: "figures"}, line.takes ? line.at : ""),
    h("span", {class: "says"}, line.sure ? line.says : ["Taken as ", line.says, ". "], line.takes ? h("span", {class: "takes"}, " " + line.takes) : null,
      line.sure ? null : h("span", {class: "answers"}, line.answers.map((answer) => button(answer.trim(), () => change(line.line, answer), {class: "small", "data-key": "answer-" + line.line + answer})))),
  ];
}

/* Where there is no room beside: what the line one is in was understood as, right below it. */
function showCard() {
  const line = told.get(lineHere());
  const shown = narrow() && document.activeElement === text && line;
  if (card.contains(document.activeElement)) return;
  card.hidden = !shown;
  if (!shown) return;
  const row = mirror.children[line.line - 1];
  card.style.setProperty("--top", row.offsetTop + row.offsetHeight + "px");
  card.classList.toggle("unsure", !line.sure);
  fill(card, understood(line));
}
document.addEventListener("selectionchange", () => { if (document.activeElement === text) showCard(); });
new ResizeObserver(() => showLines()).observe(text);

const lineHere = () => text.value.slice(0, text.selectionStart).split("\n").length;

/* ---- changing it, as if typed, so that the browser's own undo takes it back ---- */

export function replaceText(after) {
  const before = text.value;
  let start = 0, end = 0;
  while (start < before.length && start < after.length && before[start] === after[start]) start += 1;
  while (end < before.length - start && end < after.length - start && before[before.length - 1 - end] === after[after.length - 1 - end]) end += 1;
  text.focus({preventScroll: true});
  text.setSelectionRange(start, before.length - end);
  const put = after.slice(start, after.length - end);
  const done = put ? document.execCommand("insertText", false, put) : document.execCommand("delete");
  if (!done || text.value !== after) { text.value = after; text.dispatchEvent(new Event("input")); }
}

function change(number, answer) {
  const lines = text.value.split("\n");
  lines[number - 1] = answer;
  replaceText(lines.join("\n"));
}

/* A new line below the one that one is in. */
export function insertLine(line) {
  const lines = text.value.split("\n"), here = lineHere(), empty = !lines[here - 1].trim();
  if (line.startsWith("#") && !empty) lines.splice(here, 0, "", line); else lines.splice(empty ? here - 1 : here, empty ? 1 : 0, line);
  const after = lines.join("\n"), at = lines.slice(0, lines.indexOf(line, here - 1) + 1).join("\n").length;
  replaceText(after);
  text.setSelectionRange(at, at);
}

export function goTo(number) {
  const lines = text.value.split("\n"), start = lines.slice(0, number - 1).reduce((sum, each) => sum + each.length + 1, 0);
  text.focus({preventScroll: true});
  text.setSelectionRange(start, start + (lines[number - 1] || "").length);
  mirror.children[number - 1]?.scrollIntoView({block: "center"});
}
