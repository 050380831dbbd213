// The notebook page: the trees behind, the open one with its boxes and the band of words, the next two.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button } = phone;
  const BEHIND = 2, AHEAD = 2;

  // What was measured, as its reader says it: "142,5 cm", or the class in words, since no crew knows codes by heart.
  function valueWords(item, value) {
    const found = item.classes.find(function (one) { return String(one[0]) === String(value); });
    return found ? say("labelled", { label: item.label, words: found[1] }) : phone.number(value) + (item.unit ? " " + item.unit : "");
  }

  // Status, cause and values in one line; what is on file in English alone says so to whoever hears a page of another language.
  function written(state, tree) {
    const record = state.written.get(tree.pk);
    if (!record) return state.settled.has(tree.pk) ? say("recordedBefore") : "–";
    const values = state.data.asked.filter(function (item) { return item.field in record.values; });
    const cause = (state.data.causes[record.status] || []).find(function (one) { return one[0] === record.cause; });
    return [phone.statusWord(state.data, record.status), cause ? ", " + cause[1] : "", ...values.map(function (item) {
      const words = valueWords(item, record.values[item.field]);
      return [", ", item.lang ? h("span", { lang: item.lang }, words) : words];
    })];
  }

  // The boxes of what the round asks for, and the line about the one that was left last, which the band carries along so that no box is too
  // far from it; `read()` gives {values}, or {fault: box} with the words in that line.
  function boxes(state, tree, before) {
    // the line is there before it says something: a box that is left must not move the words under a thumb
    const isCompared = state.data.asked.some(function (item) { return item.growth; });
    const said = h("p", { class: isCompared ? "said told-last" : "said", id: "box-said", role: "status" });
    const made = state.data.asked.map(function (item) {
      const id = "box-" + item.field;
      const value = before && item.field in before.values ? (item.classes.length ? String : phone.number)(before.values[item.field]) : "";
      const blank = item.classes.length ? h("option", { value: "" }, "–") : null;
      const box = item.classes.length
        ? h("select", { id }, blank, item.classes.map(function (one) { return h("option", { value: one[0] }, one[1]); }))
        : h("input", { id, inputmode: item.whole ? "numeric" : "decimal", autocomplete: "off", enterkeyhint: "next", maxlength: 8 });
      box.value = value;
      box.addEventListener("change", function () { tell(item, box, said, phone.lastOf(state.data, tree.pk)); });
      return { item, box, element: h("div", { class: "measure", lang: item.lang || null }, h("label", { for: id }, item.label + (item.unit ? " (" + item.unit + ")" : "")), box) };
    });
    const read = function () {
      const values = {};
      for (const one of made) {
        const found = phone.reading(one.item, one.box.value);
        if (found.fault) {
          sayOf(one.item, said, say("labelled", { label: one.item.label, words: found.fault }));
          one.box.setAttribute("aria-invalid", "true");
          one.box.setAttribute("aria-describedby", said.id);
          return { fault: one.box };
        }
        one.box.removeAttribute("aria-invalid");
        one.box.removeAttribute("aria-describedby");
        if (found.value !== null) values[one.item.field] = found.value;
      }
      return { values };
    };
    return { made, said, read };
  }

  function sayOf(item, said, words) {
    said.dataset.of = item.field;
    said.textContent = words;
  }

  // The last reading shows only once the new one is typed: known before, it would lead whoever measures.
  function tell(item, box, said, last) {
    const reading = phone.reading(item, box.value), before = last && last[1][item.field];
    const isTyped = before && !reading.fault && reading.value !== null;
    const words = isTyped ? say("lastTime", { label: item.label, value: before[0], unit: item.unit, day: phone.dayWords(before) }) : "";
    if (words || said.dataset.of === item.field) sayOf(item, said, words); // what is said of another box stays
  }

  phone.walkScreen = function (state, act, before) {
    const tree = state.tree, at = state.trees.indexOf(tree), question = state.question(tree.pk);
    const record = before || state.own(tree.pk) || question;
    const row = function (one) {
      return h("li", {}, button(h("span", {}, h("code", {}, one.tag), " ", h("span", { class: "pencil" }, written(state, one))), function () { act.open(one); }));
    };
    const { made, said, read } = boxes(state, tree, record);
    const note = h("textarea", { id: "note", rows: 2, maxlength: 900, value: record ? record.note : "" });
    const ask = h("div", { id: "ask" });
    const band = h("div", { class: "band", id: "band" }, state.data.statuses.map(function (one) {
      return button(one[1], function () { act.attempt({ status: one[0] }); }, { class: "word word-" + one[0].toLowerCase(), "aria-pressed": record ? String(record.status === one[0]) : null });
    }));
    made.forEach(function (one, number) {
      one.box.addEventListener("keydown", function (event) {
        if (event.key !== "Enter") return;
        event.preventDefault();
        (number + 1 < made.length ? made[number + 1].box : band.firstChild).focus();
      });
    });
    const place = phone.placeWords(tree);
    const plan = phone.plan(state.data, tree, state.isDone, say("here", { place }), state.trees);
    const named = function () { return [h("code", {}, tree.tag), " ", h("span", { class: "where" }, place)]; };
    const open = h("section", { class: "open", "aria-labelledby": "open-tree" },
      h("h2", { id: "open-tree", tabindex: -1 }, named()),
      phone.questionPart(question),
      h("p", { class: "kept" }, state.remark || (state.written.has(tree.pk) || question ? written(state, tree) : "")),
      h("div", { class: plan ? "beside planned" : "beside" }, plan, h("div", {},
        h("div", { class: "measures" }, made.map(function (one) { return one.element; })),
        h("details", { open: Boolean(record && record.note) }, h("summary", {}, say("note")), h("label", { for: "note", class: "hidden" }, say("note")), note))),
      h("div", { class: "foot" }, said, phone.named(named()), band), ask, ...(state.data.draw ? [] : [phone.photoPart(state, act)]));
    const nav = h("div", { class: "moves" },
      button(say("previous"), function () { act.open(state.beside(tree, -1)); }, { disabled: at === 0 }),
      button(say("next"), function () { act.open(state.beside(tree, 1)); }, { disabled: at + 1 === state.trees.length }),
      button(say("find"), act.find), phone.canScan ? button(say("scan"), act.scan) : null, button(say("undo"), act.undo, { id: "undo", disabled: !state.hasOwn() }));
    const ahead = state.trees.slice(at + 1, at + 1 + AHEAD).map(function (one) { return h("li", {}, h("code", {}, one.tag), " ", phone.placeWords(one)); });
    return {
      parts: [h("ol", { class: "behind" }, state.trees.slice(Math.max(at - BEHIND, 0), at).map(row)), open, nav, h("ol", { class: "ahead" }, ahead)],
      read, note, ask, band, open, named, fields: [...made.map(function (one) { return one.box; }), note],
      first: made.length ? made[0].box : open.querySelector("h2"),
    };
  };

  // What the open tree or plot is called, in the band: shown where too little is seen for its heading. Whoever hears the page knows it already.
  phone.named = function (named) { return h("p", { class: "named", "aria-hidden": "true" }, named); };

  // A question in place of the band: which tree it is of, since its heading may be out of sight, its title, what it is about, its answers.
  phone.askHere = function (walk, title, inside, answers) {
    const heading = h("h3", { tabindex: -1 }, h("span", { class: "asked-of" }, walk.named()), " ", title);
    const close = function () {
      walk.ask.replaceChildren();
      walk.band.hidden = false;
      walk.band.firstChild.focus();
    };
    walk.band.hidden = true;
    walk.ask.replaceChildren(heading, ...inside, h("div", { class: "answers" }, answers, button(say("back"), close)));
    heading.focus();
    walk.ask.scrollIntoView({ block: "nearest" });
  };
})();
