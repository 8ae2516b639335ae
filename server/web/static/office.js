// What the office's pages do better with script: photos are gone through with the
// arrow keys, and a page is printed with one touch.
"use strict";

const typed = "input, select, textarea, [contenteditable]";

addEventListener("keydown", (e) => {
  const rel = { ArrowLeft: "prev", ArrowRight: "next", Escape: "up" }[e.key];
  if (!rel || e.altKey || e.ctrlKey || e.metaKey || e.shiftKey || e.target.closest(typed)) return;
  const link = document.querySelector(`main nav a[rel=${rel}]`);
  if (!link) return;
  e.preventDefault();
  link.click();
});

for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
