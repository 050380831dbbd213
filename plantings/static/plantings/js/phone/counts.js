// Counted plots: where trees are counted and not tagged, the page asks how many are alive on each plot, in order.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button } = phone;
  const BEHIND = 2, AHEAD = 2, NUMBER = { classes: [], whole: true, low: 0, high: 1e9, unit: "" };

  // A plot as the page handles a tree; its key is no tree's. `planted` is undefined where nobody knows the number.
  phone.plotOf = function (line) {
    return { pk: "p" + line[0], plot: line[0], tag: line[1], planted: line[2], block: "", row: null };
  };

  phone.countWords = function (record) { return say("counted", record.values); };

  // What is counted, or {fault: box} with the words beside it.
  function read(plot, boxes) {
    const values = {};
    const fault = function (one, words) {
      one.said.textContent = say("labelled", { label: one.label, words });
      one.box.setAttribute("aria-invalid", "true");
      return { fault: one.box };
    };
    for (const one of boxes) {
      one.box.removeAttribute("aria-invalid");
      one.tellLast();
      const found = phone.reading(NUMBER, one.box.value);
      if (found.fault) return fault(one, found.fault);
      if (found.value === null && one.field === "alive") return fault(one, say("noneIsZero"));
      values[one.field] = found.value || 0;
    }
    return values.alive + values.dead > plot.planted ? fault(boxes[0], say("moreThanPlanted", { n: plot.planted })) : { values };
  }

  phone.countScreen = function (state, act, before) {
    const plot = state.tree, at = state.plots.indexOf(plot), question = state.question(plot.pk);
    const record = before || state.own(plot.pk) || question;
    const written = function (one) {
      const found = state.written.get(one.pk);
      return found ? phone.countWords(found) : state.settled.has(one.pk) ? say("countedBefore") : "–";
    };
    const boxes = ["alive", "dead"].map(function (field) {
      const label = say(field === "alive" ? "aliveBox" : "deadBox"), id = "count-" + field, said = h("p", { class: "said", id: id + "-said", role: "status" });
      const box = h("input", { id, inputmode: "numeric", autocomplete: "off", enterkeyhint: "next", maxlength: 8, "aria-describedby": id + "-said", value: record && field in record.values ? String(record.values[field]) : "" });
      // the last count shows only once the new one is typed: known before, it would lead whoever counts
      const last = field === "alive" ? (state.data.lastCounts || {})[plot.plot] : null;
      const tellLast = function () {
        said.textContent = last && box.value.trim() ? say("lastCount", { alive: last[0], dead: last[1], day: phone.dayWords(last) }) : "";
      };
      if (last) said.classList.add("told-last");
      box.addEventListener("change", tellLast);
      return { field, label, box, said, tellLast };
    });
    const note = h("textarea", { id: "note", rows: 2, maxlength: 900, value: record ? record.note : "" });
    const close = function (given) {
      const found = read(plot, boxes), said = note.value.trim();
      if (found.fault) return found.fault.focus();
      const odd = given.looked ? [] : phone.oddCount(state.data, plot, found.values, said);
      if (odd.length) return phone.askOdd(odd, function (more) { return function () { close(more); }; });
      act.save(act.record({ kind: "plot", status: "", cause: "", values: found.values, note: said }), phone.countWords(found));
    };
    const done = button(say("saveCount"), function () { close({}); }, { class: "main", id: "save-count" });
    const band = h("div", { id: "band" }, done), ask = h("div", { id: "ask" });
    boxes.forEach(function (one, number) {
      one.box.addEventListener("keydown", function (event) {
        if (event.key !== "Enter") return;
        event.preventDefault();
        (number + 1 < boxes.length ? boxes[number + 1].box : done).focus();
      });
    });
    const named = function () { return [say("plot"), " ", h("code", {}, plot.tag)]; };
    const open = h("section", { class: "open", "aria-labelledby": "open-tree" },
      h("h2", { id: "open-tree", tabindex: -1 }, named(), " ", h("span", { class: "where" }, plot.planted === undefined ? say("plantedUnknown") : say("plantedOf", { n: plot.planted }))),
      phone.questionPart(question),
      h("p", { class: "kept" }, state.remark || (written(plot) === "–" ? "" : written(plot))),
      h("div", { class: "counts" }, boxes.map(function (one) { return h("div", { class: "measure" }, h("label", { for: one.box.id }, one.label), one.box); })),
      boxes.map(function (one) { return one.said; }), h("div", { class: "foot" }, phone.named(named()), band), ask,
      h("details", { open: Boolean(record && record.note) }, h("summary", {}, say("note")), h("label", { for: "note", class: "hidden" }, say("note")), note));
    const nav = h("div", { class: "moves" },
      button(say("previous"), function () { act.open(state.beside(plot, -1)); }, { disabled: at === 0 }),
      button(say("next"), function () { act.open(state.beside(plot, 1)); }, { disabled: at + 1 === state.plots.length }),
      button(say("findPlot"), act.find), button(say("undo"), act.undo, { id: "undo", disabled: !state.hasOwn() }));
    const behind = state.plots.slice(Math.max(at - BEHIND, 0), at).map(function (one) {
      return h("li", {}, button(h("span", {}, h("code", {}, one.tag), " ", h("span", { class: "pencil" }, written(one))), function () { act.open(one); }));
    });
    const ahead = state.plots.slice(at + 1, at + 1 + AHEAD).map(function (one) { return h("li", {}, h("code", {}, one.tag), " ", written(one) === "–" ? "" : written(one)); });
    return { parts: [h("ol", { class: "behind" }, behind), open, nav, h("ol", { class: "ahead" }, ahead)], open, note, band, ask, named, fields: [...boxes.map(function (one) { return one.box; }), note], first: boxes[0].box };
  };
})();
