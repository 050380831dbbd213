// The database of the phone: rounds, records that are not sent (queue), records that the server has (sent). Each change is one transaction that
// is on the disk before the page goes on, so that neither a second tab nor a phone that dies can lose or double a record.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  let database = null;

  function done(request) {
    return new Promise(function (resolve, reject) {
      request.onsuccess = function () { resolve(request.result); };
      request.onerror = function () { reject(request.error); };
    });
  }

  function makeByTree(made, name) {
    const store = made.createObjectStore(name, { keyPath: "uuid" });
    store.createIndex("key", "key");
    store.createIndex("tree", ["key", "tree"]);
  }

  // What each version adds; nothing that an earlier one stored is touched.
  const VERSIONS = [
    function (made) {
      made.createObjectStore("rounds", { keyPath: "key" });
      made.createObjectStore("meta", { keyPath: "name" });
      ["queue", "sent"].forEach(function (name) { makeByTree(made, name); });
    },
    function (made) {
      makeByTree(made, "photos");
      made.createObjectStore("pictures", { keyPath: "uuid" });
    },
  ];

  // `told("waits")`: a tab with an earlier page holds the database; `told("over")`: a tab with a later page has taken it.
  function open(told) {
    return new Promise(function (resolve, reject) {
      const request = window.indexedDB.open("mastbook-phone", VERSIONS.length);
      request.onupgradeneeded = function (event) { VERSIONS.slice(event.oldVersion).forEach(function (add) { add(request.result); }); };
      request.onblocked = function () { told("waits"); };
      request.onsuccess = function () {
        const opened = request.result;
        opened.onversionchange = function () {
          opened.close();
          told("over");
        };
        told("");
        resolve(opened);
      };
      request.onerror = function () { reject(request.error); };
    });
  }

  // Run `work` in one transaction. The result is given once everything is stored: on the disk, for what must not be lost.
  async function within(names, mode, work, durability) {
    const transaction = database.transaction(names, mode, { durability: durability || "strict" });
    const end = new Promise(function (resolve, reject) {
      transaction.oncomplete = resolve;
      transaction.onabort = transaction.onerror = function () { reject(transaction.error || new Error("not stored")); };
    });
    end.catch(function () { /* told below */ });
    let result;
    try {
      result = await work(Object.fromEntries(names.map(function (name) { return [name, transaction.objectStore(name)]; })));
    } catch (error) {
      try { transaction.abort(); } catch (ended) { /* it has ended by itself */ }
      throw error;
    }
    try { transaction.commit(); } catch (error) { /* it ends by itself: a browser without the call, or nothing left to store */ }
    await end;
    return result;
  }

  const bySeq = function (one, other) { return one.seq - other.seq; };

  function same(one, other) {
    return one.said === other.said && one.status === other.status && one.cause === other.cause && one.note === other.note
      && JSON.stringify(one.values) === JSON.stringify(other.values);
  }

  // The records of a tree on this phone, oldest first.
  async function ofTree(stores, record) {
    const range = IDBKeyRange.only([record.key, record.tree]);
    const found = (await Promise.all(["queue", "sent"].map(function (name) { return done(stores[name].index("tree").getAll(range)); }))).flat();
    return found.sort(bySeq);
  }

  // The newest of them that whoever looks may replace or correct: their own, and neither rejected nor corrected by the office. What another
  // person recorded with this phone stays beside it, for the office to compare.
  function ownOf(found, record) {
    const gone = new Set(record.gone);
    found.filter(function (one) { return gone.has(one.uuid); }).reverse().forEach(function (one) { gone.add(one.corrects); });
    return found.filter(function (one) { return !gone.has(one.uuid) && phone.isSame(one.observer, record.observer); }).pop();
  }

  async function newest(stores, record) { return ownOf(await ofTree(stores, record), record); }

  // What names the typed and unsaved values of a tree, of whoever looks.
  phone.draftName = function (record) { return ["draft", record.key, record.tree, record.observer].join("/"); };

  phone.store = {
    start: async function (told) { database = await open(told); },
    parts: { within, done, newest, passOver },

    round: function (key) { return within(["rounds"], "readonly", function (stores) { return done(stores.rounds.get(key)); }); },
    rounds: function () { return within(["rounds"], "readonly", function (stores) { return done(stores.rounds.getAll()); }); },
    putRound: function (round) { return within(["rounds"], "readwrite", function (stores) { return done(stores.rounds.put(round)); }); },
    meta: async function (name) {
      const found = await within(["meta"], "readonly", function (stores) { return done(stores.meta.get(name)); });
      return found && found.value;
    },
    putMeta: function (name, value) {
      return within(["meta"], "readwrite", function (stores) { return done(stores.meta.put({ name, value })); }, "relaxed");
    },

    dropMeta: function (name) {
      return within(["meta"], "readwrite", function (stores) { return done(stores.meta.delete(name)); }, "relaxed");
    },

    // {queue, sent} of a round, oldest first
    records: function (key) {
      return within(["queue", "sent"], "readonly", async function (stores) {
        const [queue, sent] = await Promise.all(["queue", "sent"].map(function (name) { return done(stores[name].index("key").getAll(key)); }));
        return { queue: queue.sort(bySeq), sent: sent.sort(bySeq) };
      });
    },
    queue: function () { return within(["queue"], "readonly", function (stores) { return done(stores.queue.getAll()); }); },

    // Store what was recorded of a tree; gives {record, replaced, moved}. A record that may have left the phone is corrected by another; one
    // that has not is replaced; both by whoever made it. One that the office asked back, `answers`, is corrected whichever phone sent it. The photos that waited for
    // the word, or belong to what is replaced, go with it: `moved` is how many.
    save: function (record) {
      return within(["queue", "sent", "meta", "photos"], "readwrite", async function (stores) {
        const tree = IDBKeyRange.only([record.key, record.tree]);
        const [found, photos, counted] = await Promise.all([ofTree(stores, record), done(stores.photos.index("tree").getAll(tree)), done(stores.meta.get("seq"))]);
        const earlier = ownOf(found, record), { answers, gone, ...said } = record;
        const asked = answers && !found.some(function (one) { return one.corrects === answers; }) ? answers : null;
        stores.meta.delete(phone.draftName(record)); // nothing waits for one write before the next: what fails ends the transaction
        if (earlier && !asked && same(earlier, record) && earlier.state !== "refused") return { record: earlier, replaced: null, moved: move(stores, photos, null, earlier.uuid, record.observer) };
        const counter = { name: "seq", value: (counted ? counted.value : 0) + 1 };
        stores.meta.put(counter);
        const made = Object.assign(said, { seq: counter.value, state: "waiting", tried: false, corrects: asked });
        let replaced = null;
        const isHere = earlier && (earlier.state === "refused" || (earlier.state === "waiting" && !earlier.tried));
        if (isHere && (!asked || !earlier.corrects)) {
          made.corrects = asked || earlier.corrects;
          replaced = earlier.uuid;
          made.before = earlier; // for whoever takes the new one back
          stores.queue.delete(replaced);
        } else if (earlier && !asked) {
          made.corrects = earlier.uuid;
        }
        stores.queue.add(made);
        const moved = move(stores, photos, null, made.uuid, made.observer) + (replaced ? move(stores, photos, replaced, made.uuid) : 0);
        return { record: made, replaced, moved };
      });
    },

    // Take a record back that has never left the phone; false for one that may have. What it replaced is there again. Its photos stay, for that
    // or for the next word of the tree.
    takeBack: function (uuid) {
      return within(["queue", "photos"], "readwrite", async function (stores) {
        const found = await done(stores.queue.get(uuid));
        if (!found || found.tried) return false;
        await done(stores.queue.delete(uuid));
        if (found.before) await done(stores.queue.add(found.before));
        await movePhotos(stores, found, found.before ? found.before.uuid : found.corrects);
        return true;
      });
    },

    // The next records to send, marked as tried before they leave. A correction waits until what it corrects has arrived.
    take: function (key, most) {
      return within(["queue"], "readwrite", async function (stores) {
        const queue = (await done(stores.queue.index("key").getAll(key))).sort(bySeq);
        const waiting = new Set(queue.map(function (record) { return record.uuid; }));
        const taken = queue.filter(function (record) { return record.state === "waiting" && !waiting.has(record.corrects); }).slice(0, most);
        await Promise.all(taken.filter(function (record) { return !record.tried; }).map(function (record) {
          record.tried = true;
          return done(stores.queue.put(record));
        }));
        return taken;
      });
    },

    // What the server said of some records. Only what it named as stored or known leaves the queue. Gives how many answers were of ours.
    answered: function (answers) {
      return within(["queue", "sent", "photos"], "readwrite", async function (stores) {
        let count = 0;
        for (const answer of answers) {
          const record = typeof answer.uuid === "string" ? await done(stores.queue.get(answer.uuid)) : undefined;
          if (!record) continue;
          count += 1;
          if (answer.result === "stored" || answer.result === "known") {
            record.state = "sent";
            await done(stores.sent.put(record));
            await done(stores.queue.delete(record.uuid));
          } else if (answer.result === "refused") {
            record.state = "refused";
            record.reason = answer.reason;
            await done(stores.queue.put(record));
            await passOver(stores, record);
          } else {
            count -= 1;
          }
        }
        return count;
      });
    },

    // What was to correct a record that the office has rejected or corrected meanwhile, and was refused for it, goes as a record of its own:
    // what was seen is not lost, and the office compares the two.
    free: function (key, gone) {
      return within(["queue"], "readwrite", async function (stores) {
        const queue = await done(stores.queue.index("key").getAll(key));
        await Promise.all(queue.filter(function (record) { return gone.has(record.corrects) && (record.state === "refused" || !record.tried); }).map(function (record) {
          return done(stores.queue.put(Object.assign(record, { corrects: null, state: "waiting" })));
        }));
      });
    },

    // Refused records may be sent again, such as after the coordinator put somebody back on the crew.
    again: function (key) {
      return within(["queue"], "readwrite", async function (stores) {
        const queue = await done(stores.queue.index("key").getAll(key));
        await Promise.all(queue.filter(function (record) { return record.state === "refused"; }).map(function (record) {
          record.state = "waiting";
          return done(stores.queue.put(record));
        }));
      });
    },
  };

  // A refused record that somebody has corrected already on the phone: its correction goes in its place.
  async function passOver(stores, refused) {
    const queue = await done(stores.queue.index("key").getAll(refused.key));
    const later = queue.find(function (record) { return record.corrects === refused.uuid; });
    if (!later) return;
    later.corrects = refused.corrects;
    await done(stores.queue.put(later));
    await done(stores.queue.delete(refused.uuid));
    await movePhotos(stores, refused, later.uuid);
  }

  // Give those photos of a tree that belong to one record (null: to none yet, of `who` alone) to another; gives how many.
  function move(stores, photos, from, to, who) {
    const found = photos.filter(function (photo) { return photo.record === from && (!who || !photo.observer || phone.isSame(photo.observer, who)); });
    found.forEach(function (photo) { stores.photos.put(Object.assign(photo, { record: to })); });
    return found.length;
  }

  async function movePhotos(stores, record, to) {
    return move(stores, await done(stores.photos.index("tree").getAll(IDBKeyRange.only([record.key, record.tree]))), record.uuid, to);
  }
})();
