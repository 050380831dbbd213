// The maps of all rounds as a film: one at a time, by button, slider, keyboard or by itself. Without this script they are a row of small maps.
(function () {
  "use strict";
  const STEP_MS = 1400;
  const list = document.querySelector("[data-film-frames]");
  const controls = document.querySelector("[data-film-controls]");
  if (!list || list.children.length < 2) return;
  const frames = Array.from(list.children);
  const slider = controls.querySelector("input");
  const button = (name) => controls.querySelector("[data-film=" + name + "]");
  const words = { play: button("play").textContent, all: button("all").textContent };
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  let at = 0;
  let one = true;
  let timer = null;

  function show(place) {
    at = Math.min(Math.max(place, 0), frames.length - 1);
    frames.forEach((frame, number) => { frame.hidden = one && number !== at; });
    list.classList.toggle("film-one", one);
    slider.value = at;
    slider.setAttribute("aria-valuetext", frames[at].querySelector("h2").textContent.trim());
    button("back").disabled = !one || at === 0;
    button("next").disabled = !one || at === frames.length - 1;
    slider.disabled = !one;
    button("play").hidden = !one || still.matches;
    button("all").textContent = one ? words.all : button("all").dataset.one;
  }

  function stop() {
    window.clearInterval(timer);
    timer = null;
    button("play").textContent = words.play;
    list.setAttribute("aria-live", "polite");
  }

  // Reading each round aloud would lag behind a film that plays, so then only the last one is read.
  function play() {
    if (timer) return stop();
    list.setAttribute("aria-live", "off");
    button("play").textContent = button("play").dataset.stop;
    show(at === frames.length - 1 ? 0 : at);
    timer = window.setInterval(function () {
      if (at + 1 === frames.length - 1) stop();
      show(at + 1);
    }, STEP_MS);
  }

  function step(to) {
    stop();
    show(to);
  }

  button("back").addEventListener("click", () => step(at - 1));
  button("next").addEventListener("click", () => step(at + 1));
  button("play").addEventListener("click", play);
  button("all").addEventListener("click", function () { one = !one; step(at); });
  slider.addEventListener("input", () => step(Number(slider.value)));
  still.addEventListener("change", () => step(at));
  window.addEventListener("beforeprint", () => frames.forEach((frame) => { frame.hidden = false; }));
  window.addEventListener("afterprint", () => show(at));
  controls.hidden = false;
  stop();
  show(frames.length - 1);
})();
