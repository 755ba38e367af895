/* What all views share: elements, requests, the state, words to the person. */

export const $ = (id) => document.getElementById(id);

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
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export const button = (words, action, props = {}) => h("button", {type: "button", onclick: action, ...props}, words);
/* Titles may run from right to left. */
export const name = (text) => h("bdi", {}, text);

export function svg(tag, props = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(props)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

const narrow = matchMedia("(max-width:640px)");
export const size = () => (narrow.matches ? "narrow" : "wide");
export const onSize = (action) => narrow.addEventListener("change", action);

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
  if (!response.ok || value?.error) throw new Refused(value || {});
  return value;
}

const withSize = (path) => (path.includes("size=") ? path : path + (path.includes("?") ? "&" : "?") + "size=" + size());

export const get = (path, signal) => answered(fetch(withSize(path), {signal}));
export const post = (path, values = {}, signal = undefined) => answered(fetch(withSize(path), {
  method: "POST", body: JSON.stringify(values), headers: {"Content-Type": "application/json"}, signal,
}));

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
async function stateFrom(asking) {
  const mine = ++askings, after = await asking;
  if (mine === askings) setState(after);
}
export const refresh = () => stateFrom(get("/state"));

/* ---- words ---- */

let fading = 0;
export function say(words, grave = false) {
  clearTimeout(fading);
  $("say").textContent = words;
  $("say").classList.toggle("grave", grave);
  if (words && !grave) fading = setTimeout(() => say(""), 12000);
}

/* A question with buttons; the answer is what the pressed button stands for. A later question or change ends it. */
let open = null;
export function ask(words, choices) {
  open?.(null);
  const before = document.activeElement;
  return new Promise((resolve) => {
    const done = (value) => {
      const here = $("ask").contains(document.activeElement);
      open = null;
      $("ask").hidden = true;
      if (here) before?.focus?.();
      resolve(value);
    };
    open = done;
    $("ask-words").textContent = words;
    $("ask-choices").replaceChildren(...choices.map(([label, value]) => button(label, () => done(value))));
    $("ask").hidden = false;
    $("ask").onkeydown = (event) => { if (event.key === "Escape") done(null); };
    $("ask").scrollIntoView({block: "nearest"});
    $("ask-choices").firstChild.focus();
  });
}

/* ---- doing ---- */

let doing = Promise.resolve();
let queued = 0;
/* One change after the other; while one is under way the page says so. Gives whether it was done. Whoever goes on to
   something else has left an open question: else all that follows would wait behind it. */
export function act(action, values = {}, words = "") {
  open?.(null);
  queued += 1;
  document.body.classList.toggle("busy", true);
  doing = doing.then(() => perform(action, values, words)).finally(() => {
    queued -= 1;
    document.body.classList.toggle("busy", queued > 0);
  });
  return doing;
}

async function perform(action, values, words) {
  try {
    await stateFrom(post("/do/" + action, values));
    if (words) say(words);
    return true;
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    return refused(action, values, words, problem);
  }
}

async function refused(action, values, words, problem) {
  const which = problem.answer.conflict;
  if (which === "file") {
    const replace = await ask(problem.message, [["Replace it", true], ["Leave it", null]]);
    return replace ? perform(action, {...values, replace: true}, words) : false;
  }
  if (which) return settle(which, problem.answer.gone, action, values, words);
  say(problem.message, true);
  return false;
}

async function settle(which, gone, action, values, words) {
  const file = which === "plan" ? "The plan" : "The set";
  const choice = await ask(file + (gone ? " is no longer where it was." : " was changed outside this page.") + " Nothing was written.", [
    ...(gone ? [] : [["Take it as it is there", "take"]]),
    ...(["undo", "redo", "energy"].includes(action) ? [] : [[gone ? "Write it anew" : "Write mine over it", "mine"]]),
    ["Decide later", null],
  ]);
  if (choice === "take") return perform("reload", {which}, "Taken as it is in the file.");
  if (choice === "mine") return perform(action, {...values, overwrite: true}, words);
  return false;
}

export function minutes(seconds) {
  const whole = Math.max(0, Math.round(seconds)), hours = Math.floor(whole / 3600);
  const rest = Math.floor(whole / 60) % 60, s = String(whole % 60).padStart(2, "0");
  return hours ? hours + ":" + String(rest).padStart(2, "0") + ":" + s : rest + ":" + s;
}

/* Fill an element anew and keep the focus on what had it, known by its data-key. */
export function fill(element, ...children) {
  const key = element.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  element.replaceChildren(...children.flat(3).filter(Boolean));
  if (key) element.querySelector("[data-key=\"" + CSS.escape(key) + "\"]")?.focus({preventScroll: true});
}
