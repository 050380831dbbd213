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
