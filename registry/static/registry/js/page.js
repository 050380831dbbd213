// "/" puts the cursor in the code box. The person menu can turn this off, for people who steer by voice (WCAG 2.1.4).
(function () {
  "use strict";
  const box = document.getElementById("code-box");
  if (!box) return;
  const store = "mastbook.keys";
  const switches = document.querySelectorAll("[data-shortcut-switch]");
  let on = true;
  try { on = localStorage.getItem(store) !== "off"; } catch (error) { /* storage is blocked: the key stays on */ }

  function show() {
    document.documentElement.classList.toggle("keys-off", !on);
    switches.forEach(function (button) {
      button.hidden = false;
      button.textContent = on ? button.dataset.turnOff : button.dataset.turnOn;
    });
  }

  function writing(target) {
    return target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName);
  }

  document.addEventListener("keydown", function (event) {
    if (!on || event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || writing(event.target)) return;
    event.preventDefault();
    box.focus();
    box.select();
  });

  switches.forEach(function (button) {
    button.addEventListener("click", function () {
      on = !on;
      try { localStorage.setItem(store, on ? "on" : "off"); } catch (error) { /* kept for this page only */ }
      show();
    });
  });
  show();
})();

// An open menu closes on Escape and on a press elsewhere. Without this script it closes by its own button.
(function () {
  "use strict";
  const menus = document.querySelectorAll("details.menu");

  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") return;
    menus.forEach(function (menu) {
      if (!menu.open) return;
      menu.open = false;
      menu.querySelector("summary").focus();
    });
  });

  document.addEventListener("pointerdown", function (event) {
    menus.forEach(function (menu) {
      if (menu.open && !menu.contains(event.target)) menu.open = false;
    });
  });
})();

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

// A table that fits its sheet needs no scrolling box of its own: the page scrolls, the head sticks to the window.
(function () {
  "use strict";
  const boxes = document.querySelectorAll(".ledger-scroll");
  if (!window.ResizeObserver) return;

  function fit(box) {
    const fits = box.firstElementChild.offsetWidth <= box.clientWidth;
    box.classList.toggle("fits", fits);
    if (fits) box.removeAttribute("tabindex");
    else box.setAttribute("tabindex", "0");
  }

  const watch = new ResizeObserver(function (entries) {
    entries.forEach(function (entry) { fit(entry.target); });
  });
  boxes.forEach(function (box) { watch.observe(box); });
})();

// A button with data-print appears only where a script can print.
(function () {
  "use strict";
  document.querySelectorAll("[data-print]").forEach(function (button) {
    button.hidden = false;
    button.addEventListener("click", function () { window.print(); });
  });
})();

// On a narrow window the answer comes first: what only helps to find it is folded, unless it is in use.
(function () {
  "use strict";
  const narrow = window.matchMedia("(max-width: 47.99rem)");

  function fold() {
    document.querySelectorAll("details.narrow-fold:not([data-used])").forEach(function (part) { part.open = !narrow.matches; });
  }

  narrow.addEventListener("change", fold);
  if (narrow.matches) fold();
})();

// After an answer with errors, reading and typing go on at their summary. A link to a part of the page goes first.
(function () {
  "use strict";
  const summary = document.querySelector(".error-summary");
  if (!summary || location.hash) return;
  summary.setAttribute("tabindex", "-1");
  summary.focus();
})();
