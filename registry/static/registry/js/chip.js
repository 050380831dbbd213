// The QR of a code on hover and on keyboard focus. A tap works without this script, and Escape closes it (popover).
(function () {
  "use strict";
  const WAIT_MS = 250;

  function place(chip, pop) {
    const tag = chip.getBoundingClientRect();
    const left = Math.max(8, Math.min(tag.left, window.innerWidth - pop.offsetWidth - 8));
    const below = tag.bottom + 6;
    const top = below + pop.offsetHeight > window.innerHeight ? Math.max(8, tag.top - pop.offsetHeight - 6) : below;
    pop.style.inset = top + "px auto auto " + left + "px";
    pop.style.margin = "0";
  }

  document.querySelectorAll("[data-chip]").forEach(function (chip) {
    const pop = chip.querySelector("[popover]");
    const button = chip.querySelector("button");
    if (!pop || !pop.showPopover) return;
    let timer = 0;
    let pinned = false;

    function show() {
      if (pop.matches(":popover-open")) return;
      pop.showPopover();
      place(chip, pop);
    }

    function leave() {
      clearTimeout(timer);
      timer = setTimeout(function () {
        if (!pinned && pop.matches(":popover-open")) pop.hidePopover();
      }, WAIT_MS);
    }

    chip.addEventListener("pointerenter", function (event) {
      if (event.pointerType !== "mouse") return;
      clearTimeout(timer);
      timer = setTimeout(show, WAIT_MS);
    });
    chip.addEventListener("pointerleave", leave);
    button.addEventListener("focus", function () {
      if (button.matches(":focus-visible")) show();
    });
    button.addEventListener("blur", leave);
    button.addEventListener("click", function (event) {
      clearTimeout(timer);
      pinned = !pinned;
      if (pinned && pop.matches(":popover-open")) event.preventDefault();
    });
    pop.addEventListener("toggle", function (event) {
      if (event.newState === "closed") pinned = false;
    });
  });
})();
