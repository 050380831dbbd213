// The page of the phone census: which round is open, what is tapped, and what is said at its head.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store } = phone;
  const element = function (id) { return document.getElementById(id); };
  const state = { round: null, data: null, parts: {}, trees: [], plots: [], readings: [], byPk: new Map(), settled: new Set(), written: new Map(), queue: [], refused: [], photos: [], tree: null, place: null, remark: "", screen: "" };
  const tabs = "BroadcastChannel" in window ? new BroadcastChannel("mastbook-phone") : { postMessage: function () { /* one tab only */ } };
  let walk = null, saving = false, others = [], workerSaid = null;
  state.isDone = function (pk) { return state.settled.has(pk) || state.written.has(pk); };

  // How many trees are left in all blocks, or how many plots.
  state.leftWords = function (ofPlots) {
    const n = (ofPlots ? state.plots : state.trees).filter(function (tree) { return !state.isDone(tree.pk); }).length;
    return ofPlots ? say("plotsLeft", { n }) : say("left", { n: n + phone.blocks.leftElsewhere(state) });
  };

  // -- what is said ------------------------------------------------------------------------------------

  const told = new Map();

  // One line for each matter; nothing to say takes its line away.
  function tell(matter, words, ...more) {
    told.delete(matter);
    if (words) told.set(matter, h("div", { class: "told told-" + matter }, words, " ", more));
    element("said").replaceChildren(...told.values());
  }

  // Whether a round is of somebody else with an account: their records wait for them.
  function isOthers(round) {
    const own = state.round && state.round.person;
    return Boolean(state.round && round.person && (!own || own.id !== round.person.id));
  }

  // That the cautions were read is sent like a record, and is none.
  function isCounted(record) { return record.kind !== "cautions"; }

  // What is on the phone beside the open round: read when it may have changed, not at each tap.
  async function readOthers() {
    const counts = new Map();
    const count = function (list, name) {
      list.forEach(function (one) {
        const found = counts.get(one.key) || { n: 0, photos: 0 };
        found[name] += 1;
        counts.set(one.key, found);
      });
    };
    count((await store.queue()).filter(isCounted), "n");
    count(await store.photosLeft(), "photos");
    const rounds = (await store.rounds()).filter(function (round) { return counts.has(round.key) && !(state.round && state.round.key === round.key); });
    others = rounds.map(function (round) { return Object.assign({ who: isOthers(round) ? round.person.name : null }, counts.get(round.key)); });
    showCounts();
  }

  function showCounts() {
    const sum = function (list, name) { return list.reduce(function (total, one) { return total + one[name]; }, 0); };
    const waiting = others.filter(function (one) { return one.who !== null; });
    if (state.round) element("left").textContent = state.leftWords(Boolean(state.tree && state.tree.plot));
    const photos = phone.photosLeft(state.photos).length;
    const left = function (here, name) { return here + sum(others, name) - sum(waiting, name); };
    element("unsent").textContent = say("unsent", { n: left(state.queue.length, "n") });
    element("unsent-photos").textContent = say("photosLeft", { n: left(photos, "photos") });
    element("unsent-photos").hidden = !left(photos, "photos");
    element("send").hidden = !state.queue.length && !photos && !others.length;
    element("help").hidden = !state.round;
    tell("others", waiting.length ? waiting.map(function (one) {
      return [one.n ? h("p", {}, say("unsentOf", one)) : null, one.photos ? h("p", {}, say("photosOf", { n: one.photos, who: one.who })) : null];
    }) : null);
    const refused = [["refusedCount", state.refused.length], ["photosRefused", state.photos.filter(function (photo) { return photo.state === "refused"; }).length]];
    const named = refused.filter(function (pair) { return pair[1]; });
    tell("refused", named.length ? named.map(function (pair) { return button(say(pair[0], { n: pair[1] }), act.refused); }) : null);
  }

  // -- the round ---------------------------------------------------------------------------------------

  function useRound(round) {
    const data = phone.inWords(phone.blocks.join(round.data, state.parts));
    state.round = round;
    state.data = data;
    state.trees = data.trees.map(function (one) { return { pk: one[0], tag: one[1], block: one[2], row: one[3], position: one[4] }; });
    data.trees = state.trees;
    state.plots = (data.plots || []).map(phone.plotOf);
    state.byPk = new Map([...state.trees, ...state.plots].map(function (tree) { return [tree.pk, tree]; }));
    state.settled = new Set([...data.settled, ...(data.counted || []).map(function (plot) { return "p" + plot; })]);
    state.tree = state.byPk.get(state.place) || null;
    const title = phone.titleOf(data);
    element("title").textContent = title;
    document.title = title + " · Mastbook";
  }

  async function readRecords() {
    const { queue, sent } = await store.records(state.round.key);
    useQueue(queue.filter(isCounted));
    state.photos = await store.photos(state.round.key);
    const all = [...sent, ...queue];
    state.readings = all.filter(function (record) { return !isCounted(record); });
    state.written = new Map(all.filter(isCounted).sort(function (one, other) { return one.seq - other.seq; }).map(function (record) { return [record.tree, record]; }));
    if (!state.tree) state.tree = firstLeft(state.trees, -1) || firstLeft(state.plots, -1) || state.trees[0] || state.plots[0];
  }

  function useQueue(queue) {
    state.queue = queue;
    state.refused = queue.filter(function (record) { return record.state === "refused"; });
  }

  function firstLeft(list, after) {
    const left = function (tree) { return !state.isDone(tree.pk); };
    return list.slice(after + 1).find(left) || list.find(left);
  }

  async function fetchRound(target) {
    const headers = target.token ? phone.linkHeaders(target.token) : {};
    const answer = await phone.ask(phone.dataAddress(target) + "?part=", { headers });
    if (answer.status !== 200) {
      const words = answer.body.error || say(state.round ? "noSignal" : "notLoaded");
      if (answer.status === 404 && state.round) return tellEnded(words);
      return tell("fetch", words, answer.status === 401 ? signInLink() : "");
    }
    tell("fetch", null);
    tell("ended", null);
    const data = answer.body;
    const key = target.token ? "l/" + target.token : "u" + data.person.id + (data.draw ? "/s" + data.draw.id : "/r" + data.round.id);
    const before = state.round && state.round.key === key ? state.round : await store.round(key);
    const round = Object.assign({ observer: data.draw ? data.draw.by : data.person ? data.person.name : "" }, before, {
      key, token: target.token || null, round: data.round.id, draw: data.draw ? data.draw.id : null, person: data.person, data, loaded: data.now, skew: data.now - Date.now(),
    });
    await store.putRound(round);
    if (!target.token) await store.putMeta(lastName({ draw: round.draw, round: data.round.id }), key);
    const isOther = state.round && state.round.key !== key;
    const isSame = state.round && !isOther && content(state.round.data) === content(data);
    if (isOther || !state.round) state.place = await store.meta("place/" + key);
    state.parts = await phone.blocks.load(round);
    useRound(round);
    await readRecords();
    tellCautions();
    if (isOther) tell("person", say("otherPerson", { now: data.person ? data.person.name : "" }));
    const isOpen = !isOther && state.screen === "walk" && state.byPk.has(state.place);
    if (!isOpen && !(isSame && state.screen)) show("start"); // no screen changes under a finger without need, and what is typed stays
    await readOthers();
    const older = phone.blocks.older(state);
    if (older.length) await fetchBlocks(older);
  }

  async function fetchBlocks(parts) {
    const problem = await phone.blocks.fetch(state.round, state.parts, parts, function (words) { tell("blocks", words); });
    tell("blocks", problem);
    useRound(state.round);
    await readRecords();
    showCounts();
    if (state.screen === "start") show("start");
  }

  // The wording has changed since whoever looks read it: said below what is open, and asked at the next start.
  function tellCautions() {
    const isChanged = state.round.observer && state.readings.length && !phone.hasRead(state);
    tell("cautions", isChanged ? say("cautionsChanged") : null, button(say("cautionsShow"), function () { show("cautions"); }));
  }

  // The round takes nothing more from this phone: a link has ended, or somebody was taken off the crew.
  function tellEnded(words) {
    tell("fetch", null);
    tell("ended", phone.endedPart(state, words));
  }

  // What names the round that was last open at an address.
  function lastName(target) { return "last/" + (target.draw ? "s" + target.draw : target.round); }

  // What a round says to its reader: all but the time.
  function content(data) { return JSON.stringify(Object.assign({}, data, { now: 0 })); }

  function signInLink() {
    return h("a", { href: phone.at.signIn + "?next=" + encodeURIComponent(window.location.pathname) }, say("signIn"));
  }

  // -- the screens -------------------------------------------------------------------------------------

  function show(screen, before) {
    phone.stopScan();
    state.screen = screen;
    let parts;
    if (screen === "walk") {
      walk = (state.tree.plot ? phone.countScreen : phone.walkScreen)(state, act, before);
      parts = walk.parts;
    } else {
      parts = { start: phone.startScreen, cautions: phone.cautionsScreen, find: phone.findScreen, scan: phone.scanScreen, refused: phone.refusedScreen }[screen](state, act);
    }
    document.body.dataset.screen = screen;
    element("screen").replaceChildren(...parts.flat().filter(Boolean));
    if (screen === "walk") {
      walk.open.scrollIntoView({ block: "start" });
      walk.first.focus({ preventScroll: true });
    } else {
      window.scrollTo(0, 0);
      element("title").setAttribute("tabindex", "-1");
      element("title").focus({ preventScroll: true });
    }
  }

  async function openTree(tree, before, remark) {
    const record = state.written.get(tree.pk);
    state.tree = tree;
    state.place = tree.pk;
    state.remark = remark || (record && (record.tried || record.state === "sent") ? say(tree.plot ? "correctingPlot" : "correcting", { tag: tree.tag }) : "");
    show("walk", before);
    showCounts();
    try { await store.putMeta("place/" + state.round.key, tree.pk); } catch (error) { /* only the place is lost */ }
  }

  const act = {
    named: async function (name, start, place) {
      if (place) state.tree = place;
      state.round.observer = name.trim();
      tell("name", start && !state.round.observer ? say("whoFirst") : null);
      try { await store.putRound(state.round); } catch (error) { return tell("full", say("full")); }
      if (start && !state.round.observer) element("who").focus();
      else if (start && phone.hasRead(state)) openTree(state.tree);
      else if (start) show("cautions");
    },
    begin: function () { openTree(state.tree); },
    cautionsRead: async function () {
      try {
        await store.save(newRecord(phone.cautionsRecord(state)));
      } catch (error) { return tell("full", say("full")); }
      await readRecords();
      tellCautions();
      openTree(state.tree);
      sendNow();
    },
    fetchBlocks, save,
    record: function (fields) { return newRecord(Object.assign({ tree: state.tree.pk }, fields)); },
    open: function (tree) { if (tree) openTree(tree); },
    walk: function () { openTree(state.tree); },
    find: function () { show("find"); },
    scan: function () { show("scan"); },
    refused: function () { show("refused"); },
    again: async function () {
      await store.again(state.round.key);
      await store.photosAgain(state.round.key);
      await sendNow();
    },
    tell,
    photosChanged: async function () {
      state.photos = await store.photos(state.round.key);
      showCounts();
      tabs.postMessage("changed");
    },
    undo: async function () {
      const last = [...state.written.values()].sort(function (one, other) { return other.seq - one.seq; })[0];
      if (!last) return;
      const isBack = await store.takeBack(last.uuid);
      await readRecords();
      tell("tree", null);
      showCounts();
      const tree = state.byPk.get(last.tree);
      openTree(tree, last, isBack ? say(tree.plot ? "undonePlot" : "undone", { tag: tree.tag }) : "");
      tabs.postMessage("changed");
    },
    attempt,
  };

  // Close the open tree with a word. Each question adds its answer to `given` and comes back here.
  async function attempt(given) {
    if (saving) return;
    const { data } = state, found = walk.read(), word = phone.statusWord(data, given.status);
    if (found.fault) return found.fault.focus();
    let values = found.values;
    const again = function (more) { return function () { attempt(Object.assign({}, given, more)); }; };
    if (data.kinds.unseen.includes(given.status)) {
      const measured = data.asked.some(function (item) { return item.unseen && item.field in values; });
      if (measured && !given.cleared) return phone.askHere(walk, say("askUnseen", { status: word }), [], button(say("clear"), again({ cleared: true }), { class: "main" }));
      values = {};
    }
    const causes = data.causes[given.status];
    if (causes && given.cause === undefined) {
      return phone.askHere(walk, say("askCause", { status: word }), [], causes.map(function (one) { return button(one[1], again({ cause: one[0] })); }));
    }
    const record = newRecord({ tree: state.tree.pk, status: given.status, cause: given.cause || "", values, note: walk.note.value.trim() });
    const odd = given.looked ? [] : phone.odd(data, record, phone.isoDay(new Date(record.at + state.round.skew)));
    if (odd.length) return askOdd(odd, again);
    await save(record, word);
  }

  function newRecord(fields) {
    const now = new Date();
    return Object.assign({
      uuid: phone.newUuid(), key: state.round.key, observer: state.round.observer, at: now.getTime(), said: phone.isoDay(now), loaded: state.round.loaded,
    }, fields);
  }

  function askOdd(odd, again) {
    const why = h("input", { id: "why", maxlength: 200, autocomplete: "off" });
    const keep = function () {
      if (why.value.trim()) walk.note.value = [walk.note.value.trim(), why.value.trim()].filter(Boolean).join("; ");
      again({ looked: true })();
    };
    const asked = [h("ul", {}, odd.map(function (one) { return h("li", {}, one.words); })), h("p", { class: "box" }, h("label", { for: "why" }, say("say")), why)];
    phone.askHere(walk, say("askOdd"), asked, button(say("saveAsIs"), keep, { class: "main" }));
  }

  async function save(record, what) {
    if (saving) return;
    saving = true;
    let saved;
    try {
      saved = await store.save(record);
    } catch (error) {
      tell("full", say("full"));
      return told.get("full").scrollIntoView({ block: "nearest" });
    } finally {
      saving = false;
    }
    tell("full", null);
    tell("send", null);
    const kept = state.queue.filter(function (one) { return one.uuid !== saved.replaced && one.uuid !== saved.record.uuid; });
    useQueue(saved.record.state === "sent" ? kept : [...kept, saved.record]);
    state.written.set(saved.record.tree, saved.record);
    if (saved.moved) state.photos = await store.photos(state.round.key);
    const words = say(state.tree.plot ? "savedPlot" : "saved", { tag: state.tree.tag, status: what });
    const list = state.tree.plot ? state.plots : state.trees;
    const following = firstLeft(list, list.indexOf(state.tree));
    const all = state.tree.plot ? "donePlots" : phone.blocks.leftElsewhere(state) ? "doneHere" : "done";
    // what is said comes first, so that the browser lays out the page once
    tell("done", following ? null : say(all));
    tell("tree", words);
    showCounts();
    if (following) openTree(following);
    else show("start");
    tabs.postMessage("changed");
    if (!following) sendNow();
  }

  // -- the language ------------------------------------------------------------------------------------

  // The screen is drawn again in the other language. At a tree, where something may be half typed, the choice is not offered.
  async function speak(language) {
    phone.speak(language);
    told.clear();
    element("said").replaceChildren();
    if (workerSaid) workerTold(...workerSaid);
    nameOther();
    if (state.round) {
      useRound(state.round);
      await readRecords(); // which also finds the tree to begin at
    }
    if (state.screen) show(state.screen);
    await readOthers();
    // for the mails to this person, where they are signed in and there is a signal; on the phone it is chosen either way
    const person = state.round && state.round.person;
    const answer = person ? await phone.ask(phone.at.ping) : { status: 0 };
    if (answer.status !== 200 || answer.body.user.id !== person.id) return;
    await phone.ask(phone.at.language, { method: "POST", headers: { "X-CSRFToken": answer.body.csrf }, body: new URLSearchParams({ language }) });
  }

  function nameOther() {
    const name = element("language");
    name.lang = phone.other;
    name.hidden = false;
    name.textContent = name.dataset[phone.other];
  }

  // -- sending -----------------------------------------------------------------------------------------

  async function sendNow() {
    if (!(await store.queue()).length && !(await store.photosLeft()).length) return readOthers();
    tell("send", say("sending"));
    const result = await phone.send();
    if (state.round) await readRecords();
    const ended = result && state.round && result.ended.get(state.round.key);
    if (ended) tellEnded(ended);
    if (result) tell("send", result.problem || (ended || state.queue.length || phone.photosLeft(state.photos).length ? null : say("sent")), result.signIn ? signInLink() : "");
    else tell("send", null);
    await readOthers();
    if (state.screen === "refused") show("refused");
    if (state.screen === "start") element("file").replaceChildren(...phone.fileButton(state)); // the rest stays under the finger
    tabs.postMessage("changed");
  }
  phone.sendNow = sendNow;

  function workerTold(what, worker) {
    workerSaid = [what, worker];
    if (what === "ready") tell("worker", say("ready"));
    if (what === "bare") tell("worker", say("needsTls"));
    if (what === "newer") tell("newer", say("newer"), button(say("loadNewer"), function () { phone.takeOver(worker); }, { id: "newer" }));
  }

  async function start() {
    nameOther();
    element("language").addEventListener("click", function () { speak(phone.other); });
    try {
      await store.start(function (what) {
        tell("store", what ? say(what === "waits" ? "earlierTab" : "laterTab") : null, what === "over" ? button(say("loadNewer"), function () { window.location.reload(); }) : "");
      });
    } catch (error) {
      return tell("store", say("noStore"));
    }
    phone.worker(workerTold);
    const token = window.location.hash.slice(1), number = /(\/second)?\/(\d+)\/$/.exec(window.location.pathname);
    const target = token ? { token } : number ? { [number[1] ? "draw" : "round"]: Number(number[2]) } : null;
    element("send").addEventListener("click", sendNow);
    element("help").addEventListener("click", function () { show("start"); });
    window.addEventListener("online", sendNow);
    document.addEventListener("visibilitychange", function () { if (document.visibilityState === "visible") sendNow(); });
    tabs.onmessage = async function () {
      if (state.round) await readRecords();
      await readOthers();
    };
    if (!target) {
      element("screen").replaceChildren(...phone.roundsScreen(await store.rounds(), function (round) {
        if (round.token) return phone.at.home + "#" + round.token;
        return round.draw ? phone.at.drawPage.replace(":round", round.draw) : phone.at.page.replace(":round", round.round);
      }));
      window.addEventListener("hashchange", function () { window.location.reload(); });
      return sendNow();
    }
    const key = token ? "l/" + token : await store.meta(lastName(target));
    const before = key && (await store.round(key));
    if (before) {
      state.place = await store.meta("place/" + key);
      state.parts = await phone.blocks.load(before);
      useRound(before);
      await readRecords();
      show("start");
      await readOthers();
    } else {
      tell("fetch", say("loading"));
    }
    await fetchRound(target);
    await sendNow();
  }

  start();
})();
