// The open round: its trees and plots, what this phone has recorded of them, what is left.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { say, store } = phone;
  const state = phone.state = { round: null, data: null, parts: {}, trees: [], plots: [], readings: [], byPk: new Map(), settled: new Set(), written: new Map(), gone: new Map(), rejected: new Map(), questions: new Map(), answered: new Set(), drafts: new Map(), queue: [], refused: [], photos: [], tree: null, place: null, remark: "", screen: "", saves: 0 };

  // What the office asks about the record of a tree or plot, with that record, until a record on this phone answers it.
  state.question = function (pk) {
    const found = state.questions.get(pk);
    return found && !state.answered.has(found.uuid) ? found : null;
  };
  state.isDone = function (pk) { return !state.question(pk) && (state.settled.has(pk) || state.written.has(pk)); };

  // What whoever looks now has recorded of a tree or plot; null where the newest record is of another person.
  state.own = function (pk) {
    const found = state.written.get(pk);
    return found && phone.isSame(found.observer, state.round.observer) ? found : null;
  };
  state.hasOwn = function () { return [...state.written.keys()].some(function (pk) { return state.own(pk); }); };

  // How many trees are left in all blocks, or how many plots.
  state.leftWords = function (ofPlots) {
    const n = (ofPlots ? state.plots : state.trees).filter(function (tree) { return !state.isDone(tree.pk); }).length;
    return ofPlots ? say("plotsLeft", { n }) : say("left", { n: n + phone.blocks.leftElsewhere(state) });
  };

  // That the cautions were read is sent like a record, and is none.
  phone.isCounted = function (record) { return record.kind !== "cautions"; };

  // Open a round, or go on with it once it came again: `found` is what `recordsOf` gives of one that was not open. Nothing waits in here, so
  // that no tap meets one half of two rounds.
  phone.useRound = function (round, found) {
    const data = phone.inWords(phone.blocks.join(round.data, state.parts));
    state.round = round;
    state.data = data;
    state.trees = data.trees.map(function (one) { return { pk: one[0], tag: one[1], block: one[2], row: one[3], position: one[4] }; });
    data.trees = state.trees;
    state.plots = (data.plots || []).map(phone.plotOf);
    state.byPk = new Map([...state.trees, ...state.plots].map(function (tree) { return [tree.pk, tree]; }));
    state.settled = new Set([...data.settled, ...(data.counted || []).map(function (plot) { return "p" + plot; })]);
    state.questions = new Map((data.questions || []).map(function (one) { return ["plot" in one ? "p" + one.plot : one.tree, one]; }));
    // what the office rejected, with why, or corrected since: a record of this phone that is no longer the last word on its tree
    state.gone = new Map(data.gone || []);
    if (found) useRecords(found);
    state.tree = state.byPk.get(state.place) || beginAt();
  };

  // What this phone has recorded of a round: {queue, sent, photos, drafts}
  phone.recordsOf = async function (key) {
    return Object.assign(await store.records(key), { photos: await store.photos(key), drafts: await store.drafts(key) });
  };

  // Without the records that the office rejected or corrected, and those that they had corrected.
  function standing(records) {
    const known = new Map(records.map(function (record) { return [record.uuid, record]; })), gone = new Set();
    for (let uuid of state.gone.keys()) {
      for (; known.has(uuid) && !gone.has(uuid); uuid = known.get(uuid).corrects) gone.add(uuid);
    }
    return records.filter(function (record) { return !gone.has(record.uuid); });
  }

  function useRecords(found) {
    const all = [...found.sent, ...found.queue].sort(function (one, other) { return one.seq - other.seq; }), left = standing(all);
    phone.useQueue(found.queue.filter(phone.isCounted));
    state.photos = found.photos;
    state.drafts = found.drafts;
    state.answered = new Set(all.map(function (record) { return record.corrects; }));
    state.readings = all.filter(function (record) { return !phone.isCounted(record); });
    state.written = new Map(left.filter(phone.isCounted).map(function (record) { return [record.tree, record]; }));
    // where the office asks to go again: the trees and plots whose newest record it rejected
    state.rejected = new Map(all.filter(function (record) { return state.gone.get(record.uuid) && !state.written.has(record.tree) && !state.settled.has(record.tree); })
      .map(function (record) { return [record.tree, state.gone.get(record.uuid)]; }));
  }

  let readings = 0, used = 0;

  phone.readRecords = async function () {
    let key, saves, number, found;
    do { // once more where something was saved, typed or taken back meanwhile: memory has it already
      [key, saves, number] = [state.round.key, state.saves, readings += 1];
      found = await phone.recordsOf(key);
      if (state.round.key !== key) return; // another person or round was opened, and whoever opened it reads its records
    } while (state.saves !== saves);
    if (number < used) return; // what was read later is in use
    used = number;
    useRecords(found);
    if (!state.byPk.has(state.place)) state.tree = beginAt();
  };

  // The tree or plot before or after another on its list; undefined at its ends.
  state.beside = function (tree, step) {
    const list = tree.plot ? state.plots : state.trees;
    return list[list.findIndex(function (one) { return one.pk === tree.pk; }) + step];
  };

  // The first tree or plot to go to; none while trees are left in parts alone that are not on this phone.
  function beginAt() {
    const tree = phone.firstLeft(state.trees, -1);
    if (tree || phone.blocks.leftElsewhere(state)) return tree || state.trees[0] || null;
    return phone.firstLeft(state.plots, -1) || state.trees[0] || state.plots[0] || null;
  }

  phone.useQueue = function (queue) {
    state.queue = queue;
    state.refused = queue.filter(function (record) { return record.state === "refused"; });
  };

  phone.firstLeft = function (list, after) {
    const left = function (tree) { return !state.isDone(tree.pk); };
    return list.slice(after + 1).find(left) || list.find(left);
  };
})();
