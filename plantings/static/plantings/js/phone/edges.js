// What stays at the edges of the screen while the page scrolls: the head above, and at a tree the band of words at the foot, above the
// keyboard of the phone. What has the focus is between them. Where letters are large or little is seen, the head scrolls with the page, then
// the band shows its first row alone, and then it stays where it is written. Where the keyboard of a phone held sideways leaves a strip, the
// first row is low and comes with the tag of the tree, and only the box itself has room above it.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const page = document.documentElement, head = document.querySelector(".phone-head");
  const ROOM_REM = 6, BOX_REM = 3.25, LITTLE_REM = 14; // room for a box with its label, for a box; what is seen at most where that is little
  const HEAD_MOST = 0.25, BELOW = 4; // the part of what is seen that the head may take; pixels
  let headHeight = 0, keyboard = 0, band = null, isWhole = false;

  function set(name, pixels) {
    const value = Math.round(pixels) + "px";
    if (page.style.getPropertyValue(name) !== value) page.style.setProperty(name, value);
  }

  // How much of the page the keyboard hides, where it lies on the page; not what lies outside while somebody has zoomed in.
  function hidden() {
    const seen = window.visualViewport;
    return seen && seen.scale < 1.01 ? Math.max(window.innerHeight - seen.height - seen.offsetTop, 0) : 0;
  }

  function place() {
    const before = keyboard, foot = band && band.offsetHeight ? band.parentElement : null;
    keyboard = hidden();
    const seen = window.innerHeight - keyboard, rem = parseFloat(getComputedStyle(page).fontSize), isLittle = seen < LITTLE_REM * rem;
    if (Boolean(page.dataset.seen) !== isLittle) page.dataset.seen = isLittle ? "little" : ""; // before anything is measured: the styles differ
    headHeight = head.offsetHeight <= HEAD_MOST * seen ? head.offsetHeight : 0;
    const room = seen - headHeight - ROOM_REM * rem, least = isLittle ? seen - headHeight - BOX_REM * rem : room;
    const height = foot ? foot.offsetHeight : 0, first = foot ? band.firstChild.offsetTop + band.firstChild.offsetHeight + BELOW : 0;
    const shown = isWhole || height <= room ? height : first <= least ? first : 0;
    page.dataset.head = headHeight ? "stays" : "";
    page.dataset.band = shown ? "stays" : "";
    set("--keyboard", keyboard);
    set("--band-hidden", shown ? height - shown : 0);
    set("--head", headHeight);
    set("--foot", keyboard + (isWhole ? 0 : shown)); // a word that has the focus is over no box
    if (keyboard !== before && document.activeElement !== document.body) document.activeElement.scrollIntoView({ block: "nearest" });
  }

  // A long question may push the first box of a tree under the band: then the tree has the focus and the question is read first, since
  // digits would go into a box out of sight. Whoever has the keyboard of the phone open goes on in the box.
  function uncover(open, first) {
    const foot = parseFloat(page.style.getPropertyValue("--foot")) || 0;
    if (document.activeElement !== first || first.getBoundingClientRect().bottom <= window.innerHeight - foot) return;
    if (keyboard) first.scrollIntoView({ block: "nearest" });
    else open.querySelector("h2").focus({ preventScroll: true });
  }

  // Sizes are read after the page is laid out, so that a tap costs no layout more.
  const watch = "ResizeObserver" in window ? new ResizeObserver(function () {
    const before = headHeight, open = phone.state.screen === "walk" ? phone.state.walk.open : null;
    place();
    const top = open ? open.getBoundingClientRect().top : headHeight;
    if (before <= top && top < headHeight) open.scrollIntoView({ block: "start" }); // what was just under the head stays so when it grows
    if (open) uncover(open, phone.state.walk.first);
  }) : null;
  if (watch) watch.observe(head);

  // The band of the tree or plot that is open now; null on a screen without one, whose room is free before its first box has the focus.
  phone.watchBand = function (element) {
    if (watch && band) watch.unobserve(band);
    band = element;
    isWhole = false;
    if (!band) place();
    else if (watch) watch.observe(band);
  };

  // Whoever goes on from the boxes to the words by keys sees all words, where there is room for the first row alone; they stay until a box has the
  // focus again. Under a finger the band never moves.
  let byKeys = false;
  document.addEventListener("keydown", function () { byKeys = true; }, true);
  document.addEventListener("pointerdown", function () { byKeys = false; }, true);
  document.addEventListener("focusin", function (event) {
    const before = isWhole;
    isWhole = Boolean(band && band.contains(event.target)) && (isWhole || byKeys);
    if (isWhole !== before) place();
  });

  window.addEventListener("resize", place);
  if (window.visualViewport) ["resize", "scroll"].forEach(function (name) { window.visualViewport.addEventListener(name, place); });
})();
