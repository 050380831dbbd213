// How far a long job is: the page asks every few seconds. When the job has ended, its result opens, or the page is loaded once more.
// Without this script, reload.
(function () {
  "use strict";
  const part = document.querySelector("[data-job]");
  const bar = part && part.querySelector("progress");
  if (!part || !bar) return;
  const note = part.querySelector("[data-job-note]");
  const state = document.querySelector(".sheet-what .state");

  function show(now) {
    if (!now.moving) {
      if (now.page) location.assign(now.page);
      else location.reload();
      return;
    }
    if (now.total) {
      bar.max = now.total;
      bar.value = now.done;
    }
    part.querySelector("[data-job-progress]").textContent = now.progress;
    part.querySelector("[data-job-step]").textContent = now.step;
    note.textContent = now.note;
    note.hidden = !now.note;
    if (state) state.textContent = now.words;
    setTimeout(ask, 2000);
  }

  function ask() {
    fetch(part.dataset.job, { headers: { Accept: "application/json" } })
      .then(function (answer) { return answer.ok ? answer.json() : Promise.reject(answer.status); })
      .then(show)
      .catch(function () { setTimeout(ask, 10000); }); // the server is away for a moment
  }
  setTimeout(ask, 2000);
})();
