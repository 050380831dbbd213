// A button with data-print appears only where a script can print.
(function () {
  "use strict";
  document.querySelectorAll("[data-print]").forEach(function (button) {
    button.hidden = false;
    button.addEventListener("click", function () { window.print(); });
  });
})();
