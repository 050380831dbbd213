// What the same person recorded by an earlier link of the open round, such as one that has ended: offered to whoever gives the same name, and
// moved to the open link in one transaction. What is under another name stays where it is.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store, state, tell, plain } = phone;
  const { within, done, passOver } = store.parts;
  let waiting = [];

  async function ofKey(stores, name, key) { return done(stores[name].index("key").getAll(key)); }

  async function earlierLinks(stores, round) {
    const rounds = await done(stores.rounds.getAll());
    return rounds.filter(function (one) { return one.token && one.key !== round.key && one.round === round.round; });
  }

  // What a link has on this phone. A photo belongs to the name of its record; one without a record to the only name of the link, else to none.
  async function content(stores, link) {
    const [queue, sent, photos] = await Promise.all(["queue", "sent", "photos"].map(function (name) { return ofKey(stores, name, link.key); }));
    const names = new Map([...queue, ...sent].map(function (record) { return [record.uuid, record.observer]; }));
    const written = [...names.values(), link.observer].filter(Boolean);
    const only = new Set(written.map(plain)).size === 1 ? written[0] : null;
    const named = photos.map(function (photo) { return { photo, name: photo.observer || (photo.record === null ? only : names.get(photo.record) || null) }; });
    return { queue, sent, photos: named.filter(function (one) { return one.name !== null; }) };
  }

  // [{key, who, n, photos, sent}]: what earlier links of a round have on this phone, by name: not sent, photos not sent, sent.
  store.earlier = function (round) {
    return within(["rounds", "queue", "sent", "photos"], "readonly", async function (stores) {
      const found = new Map();
      const count = function (link, who, part) {
        const name = link.key + " " + plain(who);
        if (!found.has(name)) found.set(name, { token: link.token, who, n: 0, photos: 0, sent: 0 });
        found.get(name)[part] += 1;
      };
      for (const link of await earlierLinks(stores, round)) {
        const { queue, sent, photos } = await content(stores, link);
        queue.filter(phone.isCounted).forEach(function (record) { count(link, record.observer, "n"); });
        sent.filter(phone.isCounted).forEach(function (record) { count(link, record.observer, "sent"); });
        photos.filter(function (one) { return one.photo.state !== "sent"; }).forEach(function (one) { count(link, one.name, "photos"); });
      }
      return [...found.values()];
    });
  };

  // Move what somebody recorded by earlier links of a round to its open link: all or nothing, and nothing is left for a second tab. Records
  // stay as they are. The tokens go along, since only they prove to the server whose records these were. Gives how many were moved.
  store.moveHere = function (round) {
    return within(["rounds", "queue", "sent", "photos", "meta"], "readwrite", async function (stores) {
      const isOwn = function (name) { return plain(name) !== "" && plain(name) === plain(round.observer); };
      const before = "before/" + round.key, known = await done(stores.meta.get(before));
      const tokens = new Set(known ? known.value : []), trees = new Set();
      let count = 0;
      for (const link of await earlierLinks(stores, round)) {
        const { queue, sent, photos } = await content(stores, link);
        const own = function (list) { return list.filter(function (record) { return isOwn(record.observer); }); };
        const moves = [["queue", own(queue)], ["sent", own(sent)], ["photos", photos.filter(function (one) { return isOwn(one.name); }).map(function (one) { return one.photo; })]];
        for (const [name, list] of moves) {
          for (const one of list) {
            await done(stores[name].put(Object.assign(one, { key: round.key })));
            if (phone.isCounted(one)) trees.add(one.tree);
            count += 1;
          }
        }
        if (!moves.some(function (pair) { return pair[1].length; })) continue;
        const earlier = await done(stores.meta.get("before/" + link.key));
        [link.token, ...(earlier ? earlier.value : [])].forEach(function (token) { tokens.add(token); });
        await moveDrafts(stores, link, round, isOwn);
      }
      for (const tree of trees) await join(stores, round.key, tree, isOwn);
      if (count) await done(stores.meta.put({ name: before, value: [...tokens] }));
      return count;
    });
  };

  // What is typed and not saved goes along, unless something is typed at the same tree by the open link.
  async function moveDrafts(stores, link, round, isOwn) {
    const start = "draft/" + link.key + "/";
    for (const draft of await done(stores.meta.getAll(IDBKeyRange.bound(start, start + "\uffff")))) {
      const [tree, ...observer] = draft.name.slice(start.length).split("/");
      const name = phone.draftName({ key: round.key, tree, observer: round.observer });
      if (!isOwn(observer.join("/")) || (await done(stores.meta.get(name)))) continue;
      await done(stores.meta.put({ name, value: draft.value }));
      await done(stores.meta.delete(draft.name));
    }
  }

  // Where a tree was recorded by both links, the later record corrects the earlier one, unless it may have left the phone as it is.
  async function join(stores, key, tree, isOwn) {
    const found = await Promise.all(["queue", "sent"].map(function (name) { return done(stores[name].index("tree").getAll(IDBKeyRange.only([key, tree]))); }));
    const own = found.flat().filter(function (record) { return isOwn(record.observer); }).sort(function (one, other) { return one.seq - other.seq; });
    for (let at = 1; at < own.length; at += 1) {
      const [earlier, later] = own.slice(at - 1, at + 1);
      if (later.corrects || later.tried || later.state !== "waiting") continue;
      await done(stores.queue.put(Object.assign(later, { corrects: earlier.uuid })));
      if (earlier.state === "refused") await passOver(stores, earlier);
    }
  }

  // The headers of a link, with the links that the same person recorded by before.
  phone.sendingHeaders = async function (round) {
    const tokens = await store.meta("before/" + round.key);
    return Object.assign(phone.linkHeaders(round.token), tokens ? { [phone.at.beforeHeader]: tokens.join(",") } : {});
  };

  // -- what is said of it ------------------------------------------------------------------------------

  phone.readEarlier = async function () {
    waiting = state.round && state.round.token ? await store.earlier(state.round) : [];
    phone.tellEarlier();
  };

  phone.tellEarlier = function () {
    const name = state.round ? plain(state.round.observer) : "";
    const own = waiting.filter(function (one) { return name && plain(one.who) === name; });
    const others = waiting.filter(function (one) { return (!name || plain(one.who) !== name) && one.n + one.photos; });
    const sum = function (part) { return own.reduce(function (total, one) { return total + one[part]; }, 0); };
    const n = sum("n"), photos = sum("photos"), sent = sum("sent"), who = own.length ? own[0].who : "";
    const words = n ? say("earlierOwn", { n, who }) : photos ? say("earlierPhotos", { n: photos, who }) : sent ? say("earlierSent", { n: sent, who }) : null;
    tell("earlier", words, button(say(n + photos ? "earlierSend" : "earlierMove"), move, { id: "take-over" }));
    tell("earlier-others", others.length ? others.map(function (one) {
      const text = say(one.n ? "earlierOther" : "earlierOtherPhotos", { n: one.n || one.photos, who: one.who });
      return h("p", {}, text, " ", button(say("earlierOpen"), function () { openLink(one.token); }));
    }) : null);
  };

  function openLink(token) {
    window.location.hash = token; // the page loads again with it
  }

  async function move() {
    let count;
    try {
      count = await store.moveHere(state.round);
    } catch (error) {
      return tell("full", say("earlierNot"));
    }
    tell("full", null);
    await phone.readRecords();
    await phone.readOthers();
    if (count) tell("moved", say("earlierMoved"));
    if (state.screen === "start") phone.show("start");
    phone.changed();
    await phone.sendNow();
  }
})();
