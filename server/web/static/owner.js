// The owner's page: two prints change places while their button is held, by finger,
// mouse or key, so that the eye stays where it is. A short press leaves them swapped
// until the next one, for whoever cannot hold.
"use strict";

const shortPress = 350; // ms

function swapper(button) {
  const sheet = button.parentElement.querySelector(".two-prints");
  let since = 0;
  let was = false; // swapped before this press
  const swap = (on) => {
    sheet.classList.toggle("swapped", on);
    button.setAttribute("aria-pressed", String(on));
  };
  const press = (e) => {
    if (since) return;
    since = e.timeStamp;
    was = sheet.classList.contains("swapped");
    swap(!was);
  };
  const release = (e) => {
    if (!since) return;
    if (e.timeStamp - since > shortPress) swap(was);
    since = 0;
  };
  const isKey = (e) => e.key === " " || e.key === "Enter";
  swap(false);
  button.hidden = false;
  button.addEventListener("pointerdown", (e) => { button.setPointerCapture(e.pointerId); press(e); });
  button.addEventListener("pointerup", release);
  button.addEventListener("pointercancel", release);
  button.addEventListener("contextmenu", (e) => e.preventDefault());
  button.addEventListener("keydown", (e) => { if (isKey(e)) { e.preventDefault(); press(e); } });
  button.addEventListener("keyup", (e) => { if (isKey(e)) { e.preventDefault(); release(e); } });
  button.addEventListener("blur", release);
}

for (const button of document.querySelectorAll("button[data-swap]")) swapper(button);
