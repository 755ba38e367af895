/* The clock's words: times, places, and what could be left out. */
const words = (() => {
"use strict";
const MINUTE = 60, HOUR = 3600;

function minutes(seconds) {
  const whole = Math.round(Math.abs(seconds)), sign = seconds < 0 && whole ? "−" : "";
  const h = Math.floor(whole / HOUR), m = Math.floor(whole / MINUTE) % 60, s = String(whole % 60).padStart(2, "0");
  return h ? sign + h + ":" + String(m).padStart(2, "0") + ":" + s : sign + m + ":" + s;
}

function hour(seconds) {
  const date = new Date(seconds * 1000);
  return date.getHours() + ":" + String(date.getMinutes()).padStart(2, "0");
}

function ofPass(pass, step) {
  const said = [];
  if (pass && pass[4] > 1) said.push("round " + pass[0] + " of " + pass[4]);
  const side = (pass && pass[1]) || (step && step[STEP.SIDE]);
  if (side) said.push(side + " side");
  return said.join(", ");
}

function ofStep(step) {
  const said = [];
  if (step[STEP.REPEATED]) said.push(step[STEP.REPEATED]);
  if (step[STEP.NOTE]) said.push(step[STEP.NOTE]);
  return said.join(", ");
}

/* How the class stands: what is said strongly, and the rest of the sentence. */
function ofLateness(seconds, end) {
  if (Math.abs(seconds) <= NEAR_ENOUGH_S) return ["On time", ""];
  if (seconds < 0) return [minutes(-seconds) + " early", "; would end at " + hour(end) + ". Stay where it is good."];
  return [minutes(seconds) + " late", "; would end at " + hour(end)];
}

function ofEnd(seconds, end) {
  const how = Math.abs(seconds) <= NEAR_ENOUGH_S ? "on time" : minutes(Math.abs(seconds)) + (seconds > 0 ? " late" : " early");
  return ["Ended " + how, ", at " + hour(end)];
}

const ofVisit = (at) => ["This class was left at " + minutes(at), ". Go on there, or begin again?"];

function paragraph(text) {
  const made = document.createElement("p");
  made.textContent = text;
  return made;
}

function itemOfDrop(drop, leaveOut) {
  const item = document.createElement("li"), text = document.createElement("span");
  text.textContent = drop.text[0].toUpperCase() + drop.text.slice(1) + ", saves " + minutes(drop.saves);
  item.append(text);
  if (drop.what !== "breath") {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Do that";
    button.setAttribute("aria-label", "Do that: " + drop.text);
    button.addEventListener("click", () => leaveOut(drop));
    item.append(button);
  }
  return item;
}

/* What could be left out, as elements: `falls` seconds are decided already, `need` is what stays lacking. */
function listOfDrops({found, need}, falls, restAhead, leaveOut) {
  const parts = [], list = document.createElement("ul");
  if (falls > 0) parts.push(paragraph(minutes(falls) + " of it will be left out."));
  list.append(...found.map((drop) => itemOfDrop(drop, leaveOut)));
  if (found.length) parts.push(list);
  if (need > NEAR_ENOUGH_S && restAhead) {
    const start = found.length ? "That leaves " + minutes(Math.round(need / 15) * 15) + ": go" : "Go";
    parts.push(paragraph(start + " to the rest in time rather than shorten it."));
  }
  return parts;
}

return {minutes, hour, ofPass, ofStep, ofLateness, ofEnd, ofVisit, listOfDrops};
})();
