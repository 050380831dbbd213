// From a tap to a record on the disk of the phone: which tap counts, what a word asks first, the saving, the taking back.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store, state, tell } = phone;
  const NOTE_MOST = 940, WHY_MOST = 200; // what the server takes as a note, less what it may add about the clock of the phone
  const TWICE_MS = 400, FINGER = 48; // a cold hand that taps twice: common practice, no source; CSS pixels
  let busy = null, isUndoing = false, isAsked = false;
  let tapped = { at: -TWICE_MS, x: 0, y: 0 };

  // A second tap at the same place right after another was meant for what was there before. It records nothing: the tree of that place is
  // another one by now, or a question with its answers.
  document.addEventListener("click", function (event) {
    if (!event.detail) return; // a key, which a change of the screen takes elsewhere
    const before = tapped;
    tapped = { at: event.timeStamp, x: event.clientX, y: event.clientY };
    const isTwice = tapped.at - before.at < TWICE_MS && Math.hypot(tapped.x - before.x, tapped.y - before.y) < FINGER;
    if (isTwice && event.target.closest("#band, #ask")) event.stopPropagation();
  }, true);

  // Ask the browser not to clear what this page stores when the phone runs out of room. Some ask the person, some answer no.
  function keepStored() {
    if (isAsked || !(navigator.storage && navigator.storage.persist)) return;
    isAsked = true;
    navigator.storage.persist().catch(function () { /* what is not sent can be saved to a file */ });
  }

  // One saving or taking back at a time: each begins where the one before ended.
  function alone(work) {
    busy = work().finally(function () { busy = null; });
    return busy;
  }

  phone.newRecord = function (fields) {
    const now = new Date(), question = state.question(fields.tree);
    const record = Object.assign({
      uuid: phone.newUuid(), key: state.round.key, observer: state.round.observer, at: now.getTime(), said: phone.isoDay(now), loaded: state.round.loaded,
      answers: question && question.uuid, gone: [...state.gone.keys()],
    }, fields);
    return Object.assign(record, { note: phone.seen(record.note || ""), observer: phone.seen(record.observer) });
  };

  // Close the open tree with a word. Each question adds its answer to `given` and comes back here.
  phone.attempt = async function (given) {
    if (busy) return;
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
    const record = phone.newRecord({ tree: walk.tree.pk, status: given.status, cause: given.cause || "", values, note: walk.note.value.trim() });
    const odd = given.looked ? [] : phone.odd(data, record, phone.isoDay(new Date(record.at + state.round.skew)));
    if (odd.length) return phone.askOdd(odd, again);
    await phone.save(record, word);
  };

  // Ask about what is odd; `again({looked: true})` gives what saves it as it is.
  phone.askOdd = function (odd, again) {
    const { walk } = state, room = Math.min(WHY_MOST, NOTE_MOST - walk.note.value.trim().length - "; ".length);
    const why = h("input", { id: "why", maxlength: Math.max(room, 0), autocomplete: "off", enterkeyhint: "done" });
    const keep = function () {
      if (why.value.trim()) walk.note.value = [walk.note.value.trim(), why.value.trim()].filter(Boolean).join("; ");
      again({ looked: true })();
    };
    why.addEventListener("keydown", function (event) {
      if (event.key !== "Enter" || event.repeat || event.isComposing || !why.value.trim()) return;
      event.preventDefault();
      keep();
    });
    const box = room > 0 ? h("p", { class: "box" }, h("label", { for: "why" }, say("say")), why) : null; // a note that is full says it already
    const asked = [h("ul", {}, odd.map(function (one) { return h("li", {}, one.words); })), box].filter(Boolean);
    phone.askHere(walk, say("askOdd"), asked, button(say("saveAsIs"), keep, { class: "main" }));
  };

  phone.save = function (record, what) {
    return busy ? null : alone(function () { return save(record, what); });
  };

  // Gives whether it is stored. Whoever went to another tree or screen meanwhile stays there.
  async function save(record, what) {
    const { walk } = state, { tree } = walk;
    let saved;
    try {
      saved = await store.save(record);
    } catch (error) {
      tell("full", say("full")).scrollIntoView({ block: "nearest" });
      return false;
    }
    state.saves += 1;
    keepStored();
    tell("full", null);
    tell("send", null);
    phone.changed();
    const photos = saved.moved ? await store.photos(record.key) : null;
    if (state.round.key !== record.key) { // another person or round was opened meanwhile, and this record is of the one before
      await phone.readOthers();
      return true;
    }
    if (photos) state.photos = photos;
    const kept = state.queue.filter(function (one) { return one.uuid !== saved.replaced && one.uuid !== saved.record.uuid; });
    phone.useQueue(saved.record.state === "sent" ? kept : [...kept, saved.record]);
    state.written.set(saved.record.tree, saved.record);
    state.answered.add(saved.record.corrects);
    state.drafts.delete(phone.draftName(saved.record));
    const list = tree.plot ? state.plots : state.trees;
    const following = phone.firstLeft(list, list.findIndex(function (one) { return one.pk === tree.pk; }));
    const all = tree.plot ? "donePlots" : phone.blocks.leftElsewhere(state) ? "doneHere" : "done";
    const told = function () {
      tell("done", following ? null : say(all));
      tell("tree", say(tree.plot ? "savedPlot" : "saved", { tag: tree.tag, status: what }));
      phone.showCounts();
    };
    const isOpen = state.screen === "walk" && state.walk === walk;
    if (isOpen && following) phone.openTree(following, null, "", told);
    else told();
    if (isOpen && !following) phone.show("start");
    if (state.screen === "walk" && !isOpen) document.getElementById("undo").disabled = false; // it was drawn before there was a record
    if (!following) phone.sendNow();
    return true;
  }

  // Take back the newest record of whoever looks, of what is on this phone; one that is being saved is the newest.
  phone.undo = async function () {
    if (isUndoing) return;
    isUndoing = true;
    try {
      const isSaved = busy ? await busy : true;
      if (isSaved) await alone(takeBack);
    } finally {
      isUndoing = false;
    }
  };

  async function takeBack() {
    const here = [...state.written.keys()].map(state.own).filter(function (record) { return record && state.byPk.has(record.tree); });
    const last = here.sort(function (one, other) { return other.seq - one.seq; })[0];
    if (!last) return;
    const isBack = await store.takeBack(last.uuid);
    state.saves += 1;
    await phone.readRecords();
    phone.changed();
    const tree = state.byPk.get(last.tree);
    if (state.round.key !== last.key || !tree) return;
    tell("tree", null);
    phone.showCounts();
    phone.openTree(tree, last, isBack ? say(tree.plot ? "undonePlot" : "undone", { tag: tree.tag }) : "");
  }
})();
