/* What all views share: elements, requests, the state, and doing one thing after the other. */

import {pressDone} from "./press.js";
import {ask, say} from "./say.js";

export const $ = (id) => document.getElementById(id);

const present = (children) => children.flat(4).filter((child) => child !== null && child !== undefined && child !== false);

/* An element; children that are text stay text, whatever stands in them. */
export function h(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "class") element.className = value;
    else if (name in element && !name.includes("-") && name !== "list" && name !== "form") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...present(children));
  return element;
}

export const button = (words, action, props = {}) => h("button", {type: "button", onclick: action, ...props}, words);
/* Titles may run from right to left. */
export const name = (text) => h("bdi", {}, text);

/* A drawing that came as text. */
export function drawing(text) {
  if (!text) return null;
  return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
}

export function svg(tag, props = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(props)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

export const fill = (element, ...children) => keeping(element, () => element.replaceChildren(...present(children)));

/* Draw an element's inside anew, and keep the focus on what had it, the place in it where one types, and the folds that
   were open, all known by their data-key. */
export function keeping(element, draw) {
  const had = element.contains(document.activeElement) ? document.activeElement : null, key = had?.dataset.key;
  const typing = [had?.selectionStart, had?.selectionEnd];
  const unfolded = [...element.querySelectorAll("details[open] > summary[data-key]")].map((summary) => summary.dataset.key);
  draw();
  for (const each of unfolded) element.querySelector("summary" + keyed(each))?.parentElement.setAttribute("open", "");
  const has = key && document.activeElement !== had ? element.querySelector(keyed(key)) : null;
  has?.focus({preventScroll: true});
  if (has && Number.isInteger(typing[0])) has.setSelectionRange(...typing);
}

const keyed = (key) => "[data-key=\"" + CSS.escape(key) + "\"]";

export function minutes(seconds) {
  const whole = Math.max(0, Math.round(seconds)), hours = Math.floor(whole / 3600);
  const rest = Math.floor(whole / 60) % 60, s = String(whole % 60).padStart(2, "0");
  return hours ? hours + ":" + String(rest).padStart(2, "0") + ":" + s : rest + ":" + s;
}

/* What this browser keeps; where it keeps nothing, nothing is kept. */
export function kept(key, value) {
  try {
    if (value === undefined) return localStorage.getItem(key);
    if (value === null) localStorage.removeItem(key); else localStorage.setItem(key, value);
  } catch { /* as where a browser is told to keep nothing */ }
  return null;
}

/* ---- room ---- */

const narrow = matchMedia("(max-width:640px)");
export const size = () => (narrow.matches ? "narrow" : "wide");
/* Of the strip and of the large picture, in steps, so that a window that is drawn wider doesn't ask at every pixel. */
function room() {
  const all = $("main").clientWidth || innerWidth, beside = matchMedia("(min-width:1100px)").matches;
  const step = (pixels) => Math.floor(pixels / 20) * 20;
  return "strip=" + step(all) + "&large=" + step(beside ? (all - 36) * 1.25 / 2.25 : all);
}
export function onRoom(action) {
  let last = room();
  addEventListener("resize", () => { if (last !== (last = room())) action(); });
}

/* ---- requests ---- */

export class Refused extends Error {
  constructor(answer) { super(answer.error || "That did not work."); this.answer = answer; }
}

async function answered(request) {
  let response, value;
  try {
    response = await request;
    value = await response.json();
  } catch (problem) {
    if (problem.name === "AbortError") throw problem;
    throw new Refused({error: "arcbed isn’t running. What you have typed is kept here: start arcbed again, and this page goes on.", lost: true});
  }
  await pressDone();
  if (!response.ok || value?.error) throw new Refused(value || {});
  return value;
}

const roomy = (path) => path + (path.includes("?") ? "&" : "?") + room();

export const get = (path, signal) => answered(fetch(roomy(path), {signal}));
export const post = (path, values = {}, signal = undefined) => answered(fetch(roomy(path), {
  method: "POST", body: JSON.stringify(values), headers: {"Content-Type": "application/json"}, signal,
}));

/* One question of a kind at a time: the later one ends the one before. Gives null where it was ended. */
export function asking() {
  let before = null;
  return async (path) => {
    before?.abort();
    const mine = before = new AbortController();
    try {
      const answer = await get(path, mine.signal);
      return mine.signal.aborted ? null : answer; // it may have come, and waited for a press that asked another
    } catch (problem) {
      if (problem.name === "AbortError" || mine.signal.aborted) return null;
      throw problem;
    }
  };
}

/* ---- the state ---- */

const watchers = [];
export let state = JSON.parse($("start").textContent);
export const onState = (action) => watchers.push(action);
export function setState(after) {
  const before = state;
  state = after;
  for (const watcher of watchers) watcher(state, before);
}
/* Of two answers the one that was asked for later counts, whichever comes first. */
let askings = 0;
async function stateFrom(asked) {
  const mine = ++askings, after = await asked;
  if (mine === askings) setState(after);
}
export const refresh = () => stateFrom(get("/state"));

/* ---- doing ---- */

const TAKEN_BACK = ["pair", "swap", "pin", "drop", "let_back", "rest", "energy"]; // what undo takes back
const EACH_COUNTS = ["undo", "redo"]; // pressed twice, two steps are meant
const LATER_COUNTS = {pair: () => "", energy: ({section}) => section}; // long ones: of two wishes about the same the later is meant
let doing = Promise.resolve(), queued = 0, last = null;
/* One change after the other; while one is under way the page says so, at once and where it was pressed. Gives whether
   it was done. Whoever goes on to something else has left an open question: else all that follows would wait for it. */
export function act(action, values = {}, words = "") {
  const again = !ask.leave() && queued > 0 && isAgain(action, values);
  if (again) Object.assign(last, {values, words}); else last = {values, words, action, begun: false, pressed: []};
  const mine = last, pressed = document.activeElement?.closest?.("button, summary, select, input");
  pressed?.classList.add("doing");
  mine.pressed.push(pressed);
  if (again) return doing;
  queued += 1;
  document.body.classList.add("busy");
  doing = doing.then(() => {
    mine.begun = true;
    return perform(mine.action, mine.values, mine.words);
  }).finally(() => {
    queued -= 1;
    mine.pressed.forEach((each) => each?.classList.remove("doing"));
    document.body.classList.toggle("busy", queued > 0);
  });
  return doing;
}

/* Whether it is what was wished for last, which goes on still, or takes the place of that, which has not begun. */
function isAgain(action, values) {
  if (action !== last.action || EACH_COUNTS.includes(action)) return false;
  const about = last.begun ? undefined : LATER_COUNTS[action];
  return JSON.stringify(values) === JSON.stringify(last.values) || (about !== undefined && about(values) === about(last.values));
}

async function perform(action, values, words) {
  try {
    await stateFrom(post("/do/" + action, values));
    const told = action === "write" && state.told ? state.told : words;
    if (told) say(told, {undo: TAKEN_BACK.includes(action) && state.undo ? () => act("undo", {}, "Undone.") : null});
    return true;
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    return refused(action, values, words, problem);
  }
}

async function refused(action, values, words, problem) {
  const which = problem.answer.conflict;
  if (which === "file") {
    const replace = await ask(problem.message, [["Replace", true], ["Leave as it is", null]]);
    return replace ? perform(action, {...values, replace: true}, words) : false;
  }
  if (which) return settle(which, problem.answer.gone, action, values, words);
  say(problem.message, {grave: true});
  return false;
}

async function settle(which, gone, action, values, words) {
  const file = which === "plan" ? "The plan" : "The class’s music";
  const choice = await ask(file + (gone ? " is no longer where it was." : " has changed since, elsewhere or by your last press.") + " Nothing was written.", [
    ...(gone ? [] : [["Take it as it is there", "take"]]),
    ...(["undo", "redo", "energy"].includes(action) ? [] : [[gone ? "Write it again" : "Write mine over it", "mine"]]),
    ["Decide later", null],
  ]);
  if (choice === "take") return perform("reload", {which}, "Taken as it is in the file.");
  if (choice === "mine") return perform(action, {...values, overwrite: true}, words);
  return false;
}
