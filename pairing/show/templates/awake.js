/* Keeps the screen awake while `wanted()`, where the browser allows it. */
const screenAwake = (wanted) => {
"use strict";
let lock = null, asking = false;

async function ask() {
  if (!("wakeLock" in navigator) || !wanted() || lock || asking || document.hidden) return;
  asking = true;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { lock = null; });
    if (!wanted()) release();  // paused while the browser was thinking
  } catch { lock = null; }
  asking = false;
}

function release() {
  if (lock) { lock.release().catch(() => {}); lock = null; }
}

return {ask, release};
};
