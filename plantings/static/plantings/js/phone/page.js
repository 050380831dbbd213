// The page of the phone census: which round and screen are open, what a tap does, the language, the sending, the start.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { say, button, store, state, tell } = phone;
  const element = function (id) { return document.getElementById(id); };
  const tabs = "BroadcastChannel" in window ? new BroadcastChannel("mastbook-phone") : { postMessage: function () { /* one tab only */ } };
  let workerSaid = null, sendings = 0; // of this tab

  // What is recorded on this phone has changed: other tabs read it again.
  phone.changed = function () { tabs.postMessage("changed"); };

  // -- the round ---------------------------------------------------------------------------------------

  function useRound(round, found) {
    phone.useRound(round, found);
    const title = phone.titleOf(state.data);
    element("title").textContent = title;
    document.title = title + " · Mastbook";
  }

  async function fetchRound(target) {
    const headers = target.token ? phone.linkHeaders(target.token) : {};
    const answer = await phone.ask(phone.dataAddress(target) + "?part=&days=once", { headers });
    if (answer.status !== 200) {
      const words = answer.body.error || say(state.round ? "noSignal" : "notLoaded");
      if (answer.status === 404 && state.round) return phone.tellEnded(words);
      return tell("fetch", words, answer.status === 401 ? phone.signInLink() : "");
    }
    tell("fetch", null);
    tell("ended", null);
    const data = answer.body;
    const key = target.token ? "l/" + target.token : "u" + data.person.id + (data.draw ? "/s" + data.draw.id : "/r" + data.round.id);
    const stored = await store.round(key), place = await store.meta("place/" + key), parts = await phone.blocks.load({ key, data });
    const gone = new Map(data.gone || []);
    if (gone.size) await store.free(key, gone);
    const found = await phone.recordsOf(key);
    // from here on nothing waits until the new round is in use and shown: a name, a tree or a part that came meanwhile is in it, and no tap on
    // the screen of one person is of another
    const old = state.round, isOpen = old !== null && old.key === key, before = isOpen ? old : stored;
    const round = Object.assign({ observer: data.draw ? data.draw.by : data.person ? data.person.name : "" }, before, {
      key, token: target.token || null, round: data.round.id, draw: data.draw ? data.draw.id : null, person: data.person, data, loaded: data.now, skew: data.now - Date.now(),
    });
    if (!isOpen) state.place = place;
    state.parts = isOpen ? Object.assign(parts, state.parts) : parts;
    useRound(round, isOpen ? null : found);
    const screen = isOpen ? screenAgain(old.data, data) : "start";
    if (screen) show(screen);
    if (old && !isOpen) tell("person", say("otherPerson", { now: data.person ? data.person.name : "" }));
    phone.tellCautions();
    try {
      await store.putRound(round);
      if (!target.token) await store.putMeta(lastName({ draw: round.draw, round: data.round.id }), key);
    } catch (error) { tell("full", say("full")); }
    await phone.readRecords();
    await phone.readOthers();
    const older = phone.blocks.older(state);
    if (older.length) await fetchBlocks(older, true);
  }

  // The screen to draw once the open round came again, "" for none: no screen changes under a finger without need, and what is typed stays.
  function screenAgain(before, data) {
    const { screen } = state, safety = function (one) { return JSON.stringify([one.cautions, one.safety, one.local]); };
    if (screen === "walk") return state.byPk.has(state.place) ? "" : "start";
    if (screen === "cautions") return safety(before) === safety(data) ? "" : screen;
    return screen === "start" && content(before) !== content(data) ? screen : "";
  }

  async function fetchBlocks(parts, isAgain) {
    const { key } = state.round;
    const problem = await phone.blocks.fetch(state, parts, function (words) { tell("blocks", words); });
    if (state.round.key !== key) return; // another person or round was opened meanwhile
    tell("blocks", problem);
    useRound(state.round);
    phone.showCounts();
    const isGone = state.screen === "walk" && !state.byPk.has(state.place); // the open tree is no longer on its list
    if (isGone || (state.screen === "start" && !isAgain)) show("start");
  }

  // What names the round that was last open at an address.
  function lastName(target) { return "last/" + (target.draw ? "s" + target.draw : target.round); }

  // What a round says to its reader: all but the time.
  function content(data) { return JSON.stringify(Object.assign({}, data, { now: 0 })); }

  // -- the screens -------------------------------------------------------------------------------------

  // `told()` writes what is said beside the new screen, before the browser lays out both, so that a tap costs one layout.
  phone.show = show;
  function show(screen, before, told) {
    phone.stopScan();
    const box = element("who"), naming = screen === "start" && box && document.activeElement === box ? [box.value, box.selectionStart] : null;
    state.screen = screen;
    let parts;
    if (screen === "walk") {
      if (document.activeElement) document.activeElement.blur(); // while nothing has changed: a box that loses its focus makes the browser lay out the page
      const { tree } = state; // what is recorded here is of the tree that is shown, whatever opens meanwhile
      state.walk = Object.assign((tree.plot ? phone.countScreen : phone.walkScreen)(state, act, before), { tree });
      parts = state.walk.parts;
      phone.watchDraft(state.walk, tree.pk);
      phone.watchBand(state.walk.band);
    } else {
      phone.watchBand(null);
      parts = { start: phone.startScreen, cautions: phone.cautionsScreen, find: phone.findScreen, scan: phone.scanScreen, refused: phone.refusedScreen }[screen](state, act);
    }
    document.body.dataset.screen = screen;
    element("screen").replaceChildren(...parts.flat().filter(Boolean));
    if (told) told();
    if (screen === "walk") {
      state.walk.open.scrollIntoView({ block: "start" });
      state.walk.first.focus({ preventScroll: true });
    } else if (naming) { // somebody is writing their name, and goes on
      element("who").value = naming[0];
      element("who").focus({ preventScroll: true });
      element("who").setSelectionRange(naming[1], naming[1]);
    } else {
      window.scrollTo(0, 0);
      element("title").setAttribute("tabindex", "-1");
      element("title").focus({ preventScroll: true });
    }
  }

  phone.openTree = openTree;
  async function openTree(chosen, before, remark, told) {
    const tree = state.byPk.get(chosen.pk); // a screen that was drawn before the round came again names the tree of that time
    if (!tree) return show("start");
    state.tree = tree;
    state.place = tree.pk;
    state.remark = remark || phone.draftWords(tree.pk) || earlierWords(tree);
    show("walk", before, told || phone.showCounts);
    try { await store.putMeta("place/" + state.round.key, tree.pk); } catch (error) { /* only the place is lost */ }
  }

  // What is to be known of an earlier record before another is made; "" where nothing is.
  function earlierWords(tree) {
    const { tag, pk, plot } = tree, own = state.own(pk), other = state.written.get(pk);
    if (state.rejected.has(pk)) return say(plot ? "rejectedPlot" : "rejected", { tag, words: state.rejected.get(pk) });
    if (own) return own.tried || own.state === "sent" ? say(plot ? "correctingPlot" : "correcting", { tag }) : "";
    return other ? say(plot ? "othersPlot" : "others", { tag, who: other.observer }) : "";
  }

  function toTree() {
    if (state.tree) openTree(state.tree);
    else show("start");
  }

  const act = phone.act = {
    named: async function (name, start, place) {
      const who = phone.seen(name).trim(), { key } = state.round; // a name typed while this one is stored does not start the round
      state.round.observer = who;
      if (start && who) state.place = place.pk; // where it begins, should the round come again while this is stored
      phone.tellEarlier();
      tell("name", start && !who ? say("whoFirst") : null);
      if (start && !who) element("who").focus();
      try { await store.putRound(state.round); } catch (error) { return tell("full", say("full")); }
      if (!start || !who || state.round.key !== key) return;
      state.tree = state.byPk.get(place.pk) || state.tree;
      if (phone.hasRead(state)) openTree(state.tree);
      else show("cautions");
    },
    begin: toTree,
    cautionsRead: async function () {
      try {
        await store.save(phone.newRecord(phone.cautionsRecord(state)));
      } catch (error) { return tell("full", say("full")); }
      await phone.readRecords();
      phone.tellCautions();
      if (state.screen === "cautions") toTree(); // whoever went on meanwhile stays where they are
      sendNow();
    },
    fetchBlocks,
    save: phone.save,
    record: function (fields) { return phone.newRecord(Object.assign({ tree: state.walk.tree.pk }, fields)); },
    open: function (tree) { if (tree) openTree(tree); },
    walk: toTree,
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
      state.saves += 1;
      await phone.readRecords();
      phone.showCounts();
      phone.changed();
    },
    undo: phone.undo,
    attempt: phone.attempt,
  };

  // -- the language ------------------------------------------------------------------------------------

  // The screen is drawn again in the other language. At a tree, where something may be half typed, the choice is not offered.
  async function speak(language) {
    phone.speak(language);
    phone.tellNothing();
    if (workerSaid) workerTold(...workerSaid);
    nameOther();
    if (state.round) useRound(state.round);
    if (state.screen) show(state.screen);
    await phone.readOthers();
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
    if (!(await store.queue()).length && !(await store.photosLeft()).length) {
      if (state.queue.length || phone.photosLeft(state.photos).length) { // another tab sent what is counted here, and was closed before it said so
        await phone.readRecords();
        tell("send", say("sent"));
      }
      return phone.readOthers();
    }
    tell("send", say("sending"));
    sendings += 1;
    const result = await phone.send().finally(function () { sendings -= 1; });
    if (state.round) await phone.readRecords();
    const ended = result && state.round && result.ended.get(state.round.key);
    if (ended) phone.tellEnded(ended);
    await phone.readOthers();
    if (result && !result.problem && !ended) tell("fetch", null); // the server answers again
    if (result) tell("send", result.problem || (ended || !state.isAllSent ? null : say("sent")), result.signIn ? phone.signInLink() : "");
    else if (!sendings) tell("send", null); // a second tap leaves what is said of the sending that is on its way
    if (state.screen === "refused") show("refused");
    if (state.screen === "start") element("file").replaceChildren(...phone.fileButton(state)); // the rest stays under the finger
    phone.changed();
  }
  phone.sendNow = sendNow;

  // Whoever taps Send sees why something stays on the phone: on the walk the lines about it are below the boxes and words of the open tree.
  async function sendTapped() {
    await sendNow();
    if (!state.isAllSent) element("said").scrollIntoView({ block: "start" });
  }

  function workerTold(what, worker) {
    workerSaid = [what, worker];
    if (what === "ready") tell("worker", say("ready"));
    if (what === "bare") tell("worker", say("needsTls"));
    if (what === "newer") tell("newer", say("newer"), button(say("loadNewer"), function () { phone.takeOver(worker); }, { id: "newer" }));
  }

  async function start() {
    ["error", "unhandledrejection"].forEach(function (name) { // what no other words tell, such as a database that the browser closed
      window.addEventListener(name, function () {
        tell("broken", say("broken"), button(say("loadNewer"), function () { window.location.reload(); }));
      });
    });
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
    element("send").addEventListener("click", sendTapped);
    element("help").addEventListener("click", function () { show("start"); });
    window.addEventListener("online", sendNow);
    document.addEventListener("visibilitychange", function () { if (document.visibilityState === "visible") sendNow(); });
    window.addEventListener("hashchange", function () { window.location.reload(); }); // another link
    tabs.onmessage = async function () {
      if (state.round) await phone.readRecords();
      await phone.readOthers();
    };
    if (!target) {
      element("screen").replaceChildren(...phone.roundsScreen(await store.rounds(), function (round) {
        if (round.token) return phone.at.home + "#" + round.token;
        return round.draw ? phone.at.drawPage.replace(":round", round.draw) : phone.at.page.replace(":round", round.round);
      }));
      return sendNow();
    }
    const key = token ? "l/" + token : await store.meta(lastName(target));
    const before = key && (await store.round(key));
    if (before) {
      state.place = await store.meta("place/" + key);
      state.parts = await phone.blocks.load(before);
      useRound(before, await phone.recordsOf(key));
      show("start");
      await phone.readOthers();
    } else {
      tell("fetch", say("loading"));
    }
    await fetchRound(target);
    await sendNow();
  }

  start();
})();
