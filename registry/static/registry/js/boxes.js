// Boxes that help with the choosing: a code box offers what fits, a long list is searched. Without this script both work as plain boxes.
(function () {
  "use strict";
  const WAIT_MS = 150;
  let number = 0;

  // The list under a box (the combobox pattern of WAI-ARIA): arrows walk it, Enter or a press chooses, Escape closes it. `settle` is called at each
  // of these: what is on its way to the list must not change it under somebody who chooses from it, nor open it again.
  function listUnder(box, choose, settle) {
    const list = document.createElement("ul");
    const said = document.createElement("span");
    number += 1;
    list.id = "offers-" + number;
    list.className = "offers";
    list.setAttribute("role", "listbox");
    list.setAttribute("aria-label", box.dataset.wordsFits || "What fits");
    list.hidden = true;
    said.className = "visually-hidden";
    said.setAttribute("role", "status");
    const frame = document.createElement("span");
    frame.className = "offers-frame";
    box.before(frame);
    frame.append(box, list, said);
    box.setAttribute("role", "combobox");
    box.setAttribute("autocomplete", "off");
    box.setAttribute("aria-autocomplete", "list");
    box.setAttribute("aria-expanded", "false");
    box.setAttribute("aria-controls", list.id);
    let at = -1;

    function close() {
      list.hidden = true;
      list.replaceChildren();
      at = -1;
      box.setAttribute("aria-expanded", "false");
      box.removeAttribute("aria-activedescendant");
    }

    function mark(place) {
      const lines = list.children;
      if (at >= 0) lines[at].setAttribute("aria-selected", "false");
      at = (place + lines.length) % lines.length;
      lines[at].setAttribute("aria-selected", "true");
      lines[at].scrollIntoView({ block: "nearest" });
      box.setAttribute("aria-activedescendant", lines[at].id);
    }

    function take(place) {
      const line = list.children[place];
      close();
      choose(line.dataset.value, line);
    }

    function show(offers, more) {
      list.replaceChildren.apply(list, offers.map(function (offer, place) {
        const line = document.createElement("li");
        line.id = list.id + "-" + place;
        line.dataset.value = offer.value;
        line.setAttribute("role", "option");
        line.setAttribute("aria-selected", "false");
        line.append(offer.words);
        return line;
      }));
      at = -1;
      box.removeAttribute("aria-activedescendant");
      list.hidden = !offers.length;
      box.setAttribute("aria-expanded", String(!list.hidden));
      const words = box.dataset;
      said.textContent = !offers.length ? words.wordsNone || "Nothing fits."
        : ((more && words.wordsMore) || words.wordsSome || "Fitting: %s").replace("%s", offers.length);
    }

    box.addEventListener("keydown", function (event) {
      if (event.key === "Escape" || (!list.hidden && /^(Arrow(Down|Up)|Enter)$/.test(event.key))) settle();
      if (list.hidden) return;
      if (event.key === "ArrowDown") mark(at + 1);
      else if (event.key === "ArrowUp") mark(at < 0 ? list.children.length - 1 : at - 1);
      else if (event.key === "Enter" && at >= 0) take(at);
      else if (event.key === "Escape") close();
      else return;
      event.preventDefault();
    });
    list.addEventListener("pointerdown", function (event) {
      settle();
      event.preventDefault(); // the box keeps the focus
    });
    list.addEventListener("click", function (event) {
      const line = event.target.closest("li");
      if (line) take(Array.prototype.indexOf.call(list.children, line));
    });
    box.addEventListener("blur", close);
    return { show: show, close: close };
  }

  // A code box asks the page it is on, which knows the rows its person may choose from.
  document.querySelectorAll("input[data-offers]").forEach(function (box) {
    box.removeAttribute("list");
    let timer = 0;
    let asked = null;
    // of several codes with commas between them, the last is being typed
    const several = "several" in box.dataset;
    const typed = function () { return several ? box.value.slice(box.value.lastIndexOf(",") + 1).trim() : box.value.trim(); };
    const list = listUnder(box, function (value) {
      const before = several ? box.value.slice(0, box.value.lastIndexOf(",") + 1) : "";
      box.value = before && before + " ";
      box.value += value;
      box.dispatchEvent(new Event("change", { bubbles: true }));
    }, settle);

    function settle() {
      clearTimeout(timer);
      if (asked) asked.abort();
    }

    function ask() {
      settle();
      const text = typed();
      if (!text) return list.close();
      const { signal } = asked = new AbortController();
      const query = new URLSearchParams(location.search);
      query.set("offer", box.name);
      query.set("fits", text);
      fetch(location.pathname + "?" + query, { signal: signal, headers: { accept: "application/json" } })
        .then(function (answer) { return answer.ok ? answer.json() : { offers: [] }; })
        .then(function (told) {
          if (signal.aborted || document.activeElement !== box) return;
          list.show(told.offers.map(function (offer) { return { value: offer.code, words: offer.words }; }), told.more);
        })
        .catch(function () { if (!signal.aborted) list.close(); }); // no network: the code can still be typed
    }

    box.addEventListener("input", function () {
      clearTimeout(timer);
      timer = setTimeout(ask, WAIT_MS);
    });
  });

  // A list of many to choose several from: what is chosen, and a box that searches the rest.
  document.querySelectorAll("select[multiple][data-picker]").forEach(function (select) {
    const MOST = 12;
    const chosen = document.createElement("ul");
    const box = document.createElement("input");
    const label = document.querySelector('label[for="' + select.id + '"]');
    const name = label ? label.firstChild.textContent.trim() : "";
    chosen.className = "chosen";
    box.type = "text";
    box.id = select.id + "_search";
    box.setAttribute("aria-label", name + ": search");
    box.placeholder = "Type to search";
    if (select.getAttribute("aria-describedby")) box.setAttribute("aria-describedby", select.getAttribute("aria-describedby"));
    if (select.getAttribute("aria-invalid")) box.setAttribute("aria-invalid", select.getAttribute("aria-invalid"));
    select.before(chosen, box);
    select.hidden = true;
    if (label) label.htmlFor = box.id;
    const list = listUnder(box, function (value) {
      Array.from(select.options).forEach(function (option) { if (option.value === value) option.selected = true; });
      box.value = "";
      draw();
    }, function () { /* nothing is on its way: it is on the page */ });

    function draw() {
      chosen.replaceChildren.apply(chosen, Array.from(select.selectedOptions).map(function (option) {
        const line = document.createElement("li");
        const button = document.createElement("button");
        button.type = "button";
        button.className = "as-link";
        button.textContent = "Remove";
        button.setAttribute("aria-label", "Remove " + option.text);
        button.addEventListener("click", function () {
          option.selected = false;
          draw();
          box.focus();
        });
        line.append(option.text + " ", button);
        return line;
      }));
    }

    function search() {
      const text = box.value.trim().toLowerCase();
      const fits = Array.from(select.options).filter(function (option) {
        return !option.selected && option.text.toLowerCase().includes(text);
      });
      list.show(fits.slice(0, MOST).map(function (option) { return { value: option.value, words: option.text }; }), fits.length > MOST);
    }

    box.addEventListener("input", search);
    box.addEventListener("focus", search);
    box.addEventListener("click", search);
    box.addEventListener("keydown", function (event) {
      if (event.key === "Enter") event.preventDefault(); // a search is not a form to send
    });
    draw();
  });

  // A date of which only the year may be known: a text box, or the date box of the browser, as a button beside it says.
  document.querySelectorAll("input[data-part-date]").forEach(function (box) {
    const button = document.createElement("button");
    const notes = document.getElementById(box.id + "_helptext");
    const hint = notes && notes.querySelector("[data-part-date-hint]");
    let written = ""; // a date box shows nothing of a month or a year

    function show(asDay) {
      box.type = asDay ? "date" : "text";
      button.textContent = asDay ? box.dataset.wordsPart : box.dataset.wordsDay;
      if (hint) hint.hidden = asDay;
    }

    button.type = "button";
    button.className = "as-link";
    button.addEventListener("click", function () {
      if (box.type === "text") {
        written = box.value;
        show(true);
      } else {
        show(false);
        box.value = box.value || written;
      }
      box.focus();
    });
    box.after(button);
    show(box.dataset.partDate === "day" && /^(\d{4}-\d\d-\d\d)?$/.test(box.value));
  });
})();
