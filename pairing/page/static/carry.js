/* Carrying a track with the mouse: what can be picked up, and where it can be put down. */

const KIND = "text/x-arcbed-track";

/* An element that stands for a track. */
export function carries(element, track) {
  element.draggable = true;
  element.addEventListener("dragstart", (event) => event.dataTransfer.setData(KIND, String(track)));
}

/* An element on which a track can be put; `put` gets its number. */
export function takes(element, put) {
  element.addEventListener("dragover", (event) => {
    if ([...event.dataTransfer.types].includes(KIND)) { event.preventDefault(); element.classList.add("over"); }
  });
  element.addEventListener("dragleave", () => element.classList.remove("over"));
  element.addEventListener("drop", (event) => {
    event.preventDefault();
    element.classList.remove("over");
    const carried = event.dataTransfer.getData(KIND);
    if (/^\d+$/.test(carried)) put(Number(carried));
  });
}
