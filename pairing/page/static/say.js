/* Words to the person, where the press was and never off screen: a message, or a question with buttons. */

const box = document.getElementById("say"), words = document.getElementById("say-words"), more = document.getElementById("say-more");
const question = document.getElementById("ask"), asked = document.getElementById("ask-words"), choices = document.getElementById("ask-choices");
const EDGE = 8, GAP = 6;

/* ---- where the last press was ---- */

let spot = null;
const touched = "button, a, summary, select, input, label, [role=button], li";
addEventListener("pointerdown", (event) => {
  if (box.contains(event.target) || question.contains(event.target)) return;
  const element = event.target.closest?.(touched);
  const found = element?.getBoundingClientRect();
  spot = found && found.width < 400 ? found : {left: event.clientX, right: event.clientX, top: event.clientY, bottom: event.clientY};
}, true);
addEventListener("keydown", (event) => {
  if (!["Enter", " ", "ArrowLeft", "ArrowRight"].includes(event.key) || event.target === document.body || event.target.tagName === "TEXTAREA") return;
  if (!box.contains(event.target) && !question.contains(event.target)) spot = event.target.getBoundingClientRect();
}, true);

function place(element) {
  const head = document.getElementById("head").getBoundingClientRect().bottom;
  const at = spot ?? {left: EDGE, right: EDGE, top: head, bottom: head};
  const wide = element.offsetWidth, high = element.offsetHeight;
  const below = at.bottom + GAP, above = at.top - GAP - high;
  const top = below + high <= innerHeight - EDGE ? below : above >= EDGE ? above : innerHeight - EDGE - high;
  element.style.setProperty("--x", Math.round(Math.min(Math.max(at.left, EDGE), Math.max(innerWidth - EDGE - wide, EDGE))) + "px");
  element.style.setProperty("--y", Math.round(Math.max(top, EDGE)) + "px");
}
addEventListener("resize", () => { for (const element of [box, question]) if (!element.classList.contains("away")) place(element); });

/* ---- a message ---- */

let fading = 0;
export function say(text, {grave = false, undo = null} = {}) {
  clearTimeout(fading);
  words.textContent = text;
  more.replaceChildren();
  box.classList.toggle("grave", grave);
  box.classList.toggle("away", !text);
  if (!text) return;
  if (undo) more.append(made("Undo", undo));
  if (grave) more.append(made("Close", () => say("")));
  place(box);
  if (!grave) fading = setTimeout(() => say(""), undo ? 10000 : 7000);
}

function made(label, action) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.className = "small";
  button.addEventListener("click", action);
  return button;
}

/* ---- a question; the answer is what the pressed button stands for; a later question or change ends it ---- */

let leave = null;
export function ask(text, answers) {
  leave?.(null);
  const before = document.activeElement;
  return new Promise((resolve) => {
    const done = (value) => {
      const here = question.contains(document.activeElement);
      leave = null;
      question.hidden = true;
      if (here) before?.focus?.({preventScroll: true});
      resolve(value);
    };
    leave = done;
    say("");
    asked.textContent = text;
    choices.replaceChildren(...answers.map(([label, value]) => made(label, () => done(value))));
    question.hidden = false;
    question.onkeydown = (event) => { if (event.key === "Escape") done(null); };
    place(question);
    choices.firstChild.focus({preventScroll: true});
  });
}
/* Decide later; gives whether there was something to decide. */
ask.leave = () => {
  const open = leave !== null;
  leave?.(null);
  return open;
};
