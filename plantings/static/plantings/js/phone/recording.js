// From a tap to a record on the disk of the phone: what a word asks first, the saving, the taking back.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store, state, tell } = phone;
  let saving = false;

  phone.newRecord = function (fields) {
    const now = new Date(), question = state.question(fields.tree);
    const record = Object.assign({
      uuid: phone.newUuid(), key: state.round.key, observer: state.round.observer, at: now.getTime(), said: phone.isoDay(now), loaded: state.round.loaded,
      answers: question && question.uuid,
    }, fields);
    return Object.assign(record, { note: phone.seen(record.note || ""), observer: phone.seen(record.observer) });
  };

  // Close the open tree with a word. Each question adds its answer to `given` and comes back here.
  phone.attempt = async function (given) {
    if (saving) return;
    const { data, walk } = state, found = walk.read(), word = phone.statusWord(data, given.status);
    if (found.fault) return found.fault.focus();
    let values = found.values;
    const again = function (more) { return function () { phone.attempt(Object.assign({}, given, more)); }; };
    if (data.kinds.unseen.includes(given.status)) {
      const measured = data.asked.some(function (item) { return item.unseen && item.field in values; });
      if (measured && !given.cleared) return phone.askHere(walk, say("askUnseen", { status: word }), [], button(say("clear"), again({ cleared: true }), { class: "main" }));
      values = {};
    }
    const causes = data.causes[given.status];
    if (causes && given.cause === undefined) {
      return phone.askHere(walk, say("askCause", { status: word }), [], causes.map(function (one) { return button(one[1], again({ cause: one[0] })); }));
    }
    const record = phone.newRecord({ tree: state.tree.pk, status: given.status, cause: given.cause || "", values, note: walk.note.value.trim() });
    const odd = given.looked ? [] : phone.odd(data, record, phone.isoDay(new Date(record.at + state.round.skew)));
    if (odd.length) return phone.askOdd(odd, again);
    await phone.save(record, word);
  };

  // Ask about what is odd; `again({looked: true})` gives what saves it as it is.
  phone.askOdd = function (odd, again) {
    const { walk } = state, why = h("input", { id: "why", maxlength: 200, autocomplete: "off" });
    const keep = function () {
      if (why.value.trim()) walk.note.value = [walk.note.value.trim(), why.value.trim()].filter(Boolean).join("; ");
      again({ looked: true })();
    };
    const asked = [h("ul", {}, odd.map(function (one) { return h("li", {}, one.words); })), h("p", { class: "box" }, h("label", { for: "why" }, say("say")), why)];
    phone.askHere(walk, say("askOdd"), asked, button(say("saveAsIs"), keep, { class: "main" }));
  };

  phone.save = async function (record, what) {
    if (saving) return;
    saving = true;
    let saved;
    try {
      saved = await store.save(record);
    } catch (error) {
      return tell("full", say("full")).scrollIntoView({ block: "nearest" });
    } finally {
      saving = false;
    }
    state.saves += 1;
    tell("full", null);
    tell("send", null);
    const kept = state.queue.filter(function (one) { return one.uuid !== saved.replaced && one.uuid !== saved.record.uuid; });
    phone.useQueue(saved.record.state === "sent" ? kept : [...kept, saved.record]);
    state.written.set(saved.record.tree, saved.record);
    state.answered.add(saved.record.corrects);
    state.drafts.delete(phone.draftName(saved.record));
    if (saved.moved) state.photos = await store.photos(state.round.key);
    const words = say(state.tree.plot ? "savedPlot" : "saved", { tag: state.tree.tag, status: what });
    const list = state.tree.plot ? state.plots : state.trees;
    const following = phone.firstLeft(list, list.indexOf(state.tree));
    const all = state.tree.plot ? "donePlots" : phone.blocks.leftElsewhere(state) ? "doneHere" : "done";
    // what is said comes first, so that the browser lays out the page once
    tell("done", following ? null : say(all));
    tell("tree", words);
    phone.showCounts();
    if (following) phone.openTree(following);
    else phone.show("start");
    phone.changed();
    if (!following) phone.sendNow();
  };

  phone.undo = async function () {
    const last = [...state.written.values()].sort(function (one, other) { return other.seq - one.seq; })[0];
    if (!last) return;
    const isBack = await store.takeBack(last.uuid);
    state.saves += 1;
    await phone.readRecords();
    tell("tree", null);
    phone.showCounts();
    const tree = state.byPk.get(last.tree);
    phone.openTree(tree, last, isBack ? say(tree.plot ? "undonePlot" : "undone", { tag: tree.tag }) : "");
    phone.changed();
  };
})();
