// What is typed at the open tree or plot and not saved yet: on the phone at each letter, so that a page that the phone closes, such as behind
// the camera, loses none of it. It belongs to a round, a tree and whoever looks: nobody else sees it.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { say, store, state } = phone;
  const { within, done } = store.parts;

  function nameNow(pk) { return phone.draftName({ key: state.round.key, tree: pk, observer: state.round.observer }); }

  // {name: {id of a box: text}} of a round
  store.drafts = function (key) {
    return within(["meta"], "readonly", async function (stores) {
      const start = "draft/" + key + "/", found = await done(stores.meta.getAll(IDBKeyRange.bound(start, start + "\uffff")));
      return new Map(found.map(function (one) { return [one.name, one.value]; }));
    });
  };

  // What to say at a tree where something is typed; "" elsewhere.
  phone.draftWords = function (pk) { return state.drafts.has(nameNow(pk)) ? say("typedBefore") : ""; };

  // Put back what was typed at the open tree, and store what is typed from here on.
  phone.watchDraft = function (walk, pk) {
    const { fields } = walk, first = fields.map(function (field) { return field.value; }), name = nameNow(pk), draft = state.drafts.get(name);
    if (draft) {
      fields.filter(function (field) { return field.id in draft; }).forEach(function (field) { field.value = draft[field.id]; });
      if (walk.note.value) walk.note.closest("details").open = true;
    }
    walk.open.addEventListener("input", async function () {
      const isTyped = fields.some(function (field, number) { return field.value !== first[number]; });
      const typed = Object.fromEntries(fields.map(function (field) { return [field.id, field.value]; }));
      state.saves += 1;
      try {
        if (isTyped) {
          state.drafts.set(name, typed);
          await store.putMeta(name, typed);
        } else {
          state.drafts.delete(name);
          await store.dropMeta(name);
        }
      } catch (error) { /* it stays in the box */ }
    });
  };
})();
