// The keying grid by keyboard: Enter and the arrows go up and down a column, Tab goes to the right as everywhere.
// Without this script the page is a plain form.
(function () {
  "use strict";
  const form = document.querySelector("[data-entry]");
  const table = document.querySelector("[data-keying]");
  if (!form || !table) return;
  const boxes = Array.from(table.querySelectorAll("td.key")).map(function (cell) { return cell.querySelector("input, select"); });
  let unsaved = false;

  function column(box) {
    return box.closest("td").cellIndex;
  }

  // The next box of the same column; rows that are stored have none and are passed over.
  function further(box, step) {
    const same = boxes.filter(function (other) { return column(other) === column(box); });
    return same[same.indexOf(box) + step];
  }

  function go(box) {
    box.focus();
    if (box.select) box.select();
  }

  table.addEventListener("keydown", function (event) {
    const box = event.target;
    if (!boxes.includes(box) || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const steps = { ArrowDown: 1, ArrowUp: -1, Enter: event.shiftKey ? -1 : 1 };
    if (!(event.key in steps)) return;
    event.preventDefault();
    const next = further(box, steps[event.key]);
    if (next) go(next);
    else if (event.key === "Enter" && !event.shiftKey) form.querySelector("button[type=submit]").focus();
  });

  table.addEventListener("focusin", function (event) {
    if (boxes.includes(event.target) && event.target.select) event.target.select();
  });

  // A page that was typed in asks before it is left; one that came back with errors has been typed in too.
  form.addEventListener("input", function () { unsaved = true; });
  if (document.querySelector(".error-summary")) unsaved = true;
  form.addEventListener("submit", function () { unsaved = false; });
  window.addEventListener("beforeunload", function (event) {
    if (unsaved) event.preventDefault();
  });
})();
