// The screens beside the walk: the start, the finding of a tree, what the server refused, the rounds on this phone.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button } = phone;
  const SHOWN = 50;

  function lines(texts) { return h("ul", {}, texts.map(function (text) { return h("li", {}, phone.marked(text)); })); }

  function part(title, ...inside) {
    const found = inside.filter(Boolean);
    return found.length ? h("section", {}, h("h2", {}, title), found) : null;
  }

  function calls(safety) {
    return safety.contacts.map(function (contact) {
      return h("p", {}, h("a", { class: "main", href: contact.tel }, say("call", { who: contact.name, phone: contact.phone })));
    });
  }

  // What happens now with a round that the server no longer takes: what is on the phone, how to hand it in, whom to call.
  phone.endedPart = function (state, words) {
    const isLeft = state.queue.length || phone.photosLeft(state.photos).length;
    return [
      h("p", {}, words), h("p", {}, say(isLeft ? "endedLeft" : "endedAll")), ...phone.fileButton(state),
      isLeft && state.round.token ? h("p", {}, say("endedAnother")) : null,
      isLeft ? h("p", {}, say("endedGoOn")) : null, ...calls(state.data.safety),
    ];
  };

  // What the office asks about the record of the open tree or plot; null where it asks nothing.
  phone.questionPart = function (question) {
    return question ? h("p", { class: "told", id: "question" }, say("askedBack", { words: question.question }), h("br"), say("answering")) : null;
  };

  // What the office asks about records that came in: the trees to look at again.
  function questions(state, begin) {
    const open = [...state.questions].filter(function (pair) { return state.question(pair[0]); });
    if (!open.length) return null;
    return part(say("questions", { n: open.length }), h("ul", { id: "questions" }, open.map(function (pair) {
      const tree = state.byPk.get(pair[0]), words = say("labelled", { label: pair[1].tag, words: pair[1].question });
      return h("li", {}, tree ? begin(tree, words) : [words, h("br"), say("questionElsewhere")]);
    })));
  }

  phone.placeWords = function (tree) {
    const values = { block: tree.block, row: tree.row, position: tree.position };
    if (tree.row === null) return tree.block ? say("block", values) : say("noPlace");
    return say(tree.block ? "place" : "placeOfRow", values);
  };

  phone.titleOf = function (data) {
    const title = say("titleOf", { planting: data.round.planting, round: data.round.label });
    return data.draw ? say("secondOf", { title, number: data.draw.number }) : title;
  };

  // What whoever goes out reads first: safety, whom to call, how to get there; then the name and the start.
  phone.startScreen = function (state, act) {
    const { data } = state, { safety, way } = data;
    const name = h("input", { id: "who", value: state.round.observer, maxlength: 120, autocomplete: "name", oninput: function () { act.named(name.value); } });
    const open = state.tree, isPlot = Boolean(open && open.plot);
    const left = function (tree) { return !state.isDone(tree.pk); };
    const other = isPlot ? state.trees.find(left) : state.plots.find(left);
    const begin = function (tree, words, attributes) {
      return button(words, function () { act.named(name.value, true, tree); }, attributes);
    };
    return [
      h("p", {}, data.round.site, h("br"), say("window", data.round), data.round.until ? [h("br"), say("linkUntil", data.round)] : null),
      data.draw ? h("p", { class: "told" }, data.round.again) : null,
      h("p", { class: "box" }, h("label", { for: "who" }, say("who")), name),
      open ? begin(open, say(isPlot ? (state.place ? "goOnPlot" : "startPlot") : state.place ? "goOn" : "start", open), { class: "main", id: "start" })
        : phone.blocks.missing(state).length ? h("p", { class: "told", id: "fetch-first" }, say("fetchFirst")) : null,
      open && other ? h("p", {}, begin(other, say(other.plot ? "startPlot" : "start", other), { id: "start-other" }), " ", state.leftWords(Boolean(other.plot))) : null,
      phone.blocks.section(state, act),
      questions(state, begin),
      part(say("emergency"), lines(safety.emergency), calls(safety)),
      part(say("way"), h("ul", {}, [
        way.access ? h("li", {}, phone.marked(way.access)) : null, way.place ? h("li", {}, way.place) : null, way.geo ? h("li", {}, h("a", { href: way.geo }, say("openMap"))) : null,
        way.corner ? h("li", {}, phone.marked(say("corner", { words: way.corner }))) : null, h("li", {}, say("walk", { words: way.walk })),
        way.spacing ? h("li", {}, say("spacing", { words: way.spacing })) : null,
      ].filter(Boolean))),
      part(say("cautions"), phone.cautionLines(state), phone.hasRead(state) && state.readings.length ? h("p", {}, say("cautionsReadBy", { name: state.round.observer })) : null),
      data.asked.length ? part(say("measured"), lines(data.asked.map(function (item) {
        const words = say("labelled", { label: item.label, words: item.taken });
        return item.lang ? say("inEnglish") + " " + words : words;
      }))) : null,
      part(say("codes"), lines(data.statuses.map(function (one) { return say("labelled", { label: one[1], words: one[2] }); }))),
      h("div", { id: "file" }, phone.fileButton(state)),
    ];
  };

  phone.findScreen = function (state, act) {
    const found = h("div", { class: "picks", role: "status" });
    const all = [...state.trees, ...state.plots], isElsewhere = phone.blocks.missing(state).length > 0;
    const pick = function (tree) { return button(tree.tag + " · " + (tree.plot ? say("plot") : phone.placeWords(tree)), function () { act.open(tree); }); };
    const box = h("input", { id: "find-box", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", enterkeyhint: "search", oninput: look });

    function look() {
      const typed = box.value.trim().toUpperCase();
      const fits = typed ? all.filter(function (tree) { return tree.tag.toUpperCase().endsWith(typed); }) : [];
      const more = typed && !fits.length ? all.filter(function (tree) { return tree.tag.toUpperCase().includes(typed); }) : fits;
      found.replaceChildren(...(typed && !more.length ? [say(isElsewhere ? "findElsewhere" : "findNone")] : more.slice(0, 12).map(pick)));
    }

    const left = all.filter(function (tree) { return !state.isDone(tree.pk); });
    return [
      h("p", { class: "box" }, h("label", { for: "find-box" }, say("findBox")), box), found,
      part(say("leftHere"), h("div", { class: "picks" }, left.slice(0, SHOWN).map(pick)), left.length > SHOWN ? h("p", {}, say("andMore", { n: left.length - SHOWN })) : null),
      button(say("toTrees"), act.walk, { class: "main" }),
    ];
  };

  phone.refusedScreen = function (state, act) {
    return [
      h("h2", {}, say("refusedTitle")), h("p", {}, say("refusedWhy")),
      h("ul", { class: "refused" }, state.refused.map(function (record) {
        const tree = state.byPk.get(record.tree), tag = tree ? tree.tag : String(record.tree);
        const isPlot = record.kind === "plot", words = isPlot ? phone.countWords(record) : phone.statusWord(state.data, record.status);
        return h("li", {}, tree ? button(say(isPlot ? "openPlot" : "openTree", { tag, words }), function () { act.open(tree); }) : h("p", {}, tag), h("p", {}, record.reason));
      })),
      button(say("tryAgain"), act.again), h("div", {}, phone.fileButton(state)), button(say("toTrees"), act.walk, { class: "main" }),
    ];
  };

  phone.roundsScreen = function (rounds, address) {
    if (!rounds.length) return [h("p", {}, say("noRounds"))];
    return [h("h2", {}, say("rounds")), h("ul", { class: "picks" }, rounds.map(function (round) {
      return h("li", {}, h("a", { class: "main", href: address(round) }, phone.titleOf(round.data) + " · " + round.observer));
    }))];
  };

  // -- a file of what is not sent, as a census sheet ---------------------------------------------------

  function cell(value) {
    let text = value === null || value === undefined ? "" : String(value);
    if (/^'*[=+\-@\t]/.test(text)) text = "'" + text; // no spreadsheet may run it; loading a sheet takes the sign off
    return /[",\n\r]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
  }

  // The columns are those of the census sheet, or of counts.
  phone.sheet = function (state, records, columns) {
    const { data, round } = state;
    // a round that was fetched before the sheets had identifiers does not name their columns; a sheet reads them by the names of its fields too
    if (!columns.some(function (column) { return column[1] === "uuid"; })) columns = columns.concat([["uuid", "uuid"], ["corrects", "corrects"]]);
    const row = function (record) {
      const tree = state.byPk.get(record.tree), tag = tree ? tree.tag : record.tree;
      const values = Object.assign({
        planting: data.round.planting, round: data.round.label, draw: data.draw && data.draw.number, tag, plot: tag, status: record.status, cause: record.cause,
        observed_on: phone.isoDay(new Date(record.at + round.skew)), observer: record.observer, note: record.note,
        uuid: record.uuid, corrects: record.corrects,
      }, record.values);
      return columns.map(function (column) { return cell(values[column[1]]); });
    };
    return [columns.map(function (column) { return cell(column[0]); }), ...records.map(row)].map(function (cells) { return cells.join(","); }).join("\r\n") + "\r\n";
  };

  phone.saveFile = function (blob, name) {
    const address = URL.createObjectURL(blob), link = h("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    window.setTimeout(function () { URL.revokeObjectURL(address); }, 60000);
  };

  phone.fileButton = function (state) {
    const ofPlots = state.queue.filter(function (record) { return record.kind === "plot"; });
    const ofTrees = state.queue.filter(function (record) { return record.kind !== "plot"; });
    return [
      ofTrees.length ? save(state, say("saveFile"), "census-", ofTrees, state.data.sheet) : null,
      ofPlots.length ? save(state, say("saveCounts"), "counts-", ofPlots, state.data.countSheet) : null,
      state.queue.length ? h("p", {}, say("fileNote")) : null, ...phone.photoFiles(state),
    ].filter(Boolean);
  };

  function save(state, words, kind, records, columns) {
    return button(words, function () {
      phone.saveFile(new Blob([phone.sheet(state, records, columns)], { type: "text/csv" }), kind + state.data.round.planting + "-" + phone.isoDay(new Date()) + ".csv");
    });
  }
})();
