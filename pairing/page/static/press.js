/* What is being pressed stays as it is until the press is done: drawn anew between down and up, it would not be pressed at all. */

const PRESSED = "button, a, summary, label, select, input[type=checkbox]";
const TAP_MS = 300; // a touch makes its click that much later than it lets go, at most
const LONG_MS = 1000; // who holds longer than that does not press, and what is new is shown

let pressing = Promise.resolve(), done = () => {};

addEventListener("pointerdown", (event) => {
  if (!event.target.closest?.(PRESSED)) return;
  done();
  pressing = new Promise((resolve) => { done = resolve; });
  setTimeout(done, LONG_MS);
}, true);
/* After the click, so that what it does comes first. */
for (const [name, later_ms] of [["click", 0], ["pointercancel", 0], ["pointerup", TAP_MS]]) {
  addEventListener(name, () => { setTimeout(done, later_ms); }, true);
}

export const pressDone = () => pressing;
