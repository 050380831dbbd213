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
