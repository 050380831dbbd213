// Photos of trees: scaled on the phone, stored beside the record they belong to, sent after it one by one, saved as files.
// `photos` of the database says what there is, `pictures` has the bytes, so that a list of them costs no memory.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store } = phone;
  const { within, done, newest } = store.parts;
  const TYPE = "image/jpeg", QUALITIES = [0.8, 0.6, 0.4], THUMB = 64, LISTED = 50;

  // -- on the phone ------------------------------------------------------------------------------------

  const isWaiting = function (photo) { return photo.state !== "sent"; };
  phone.photosLeft = function (photos) { return photos.filter(isWaiting); };

  Object.assign(store, {
    photos: function (key) { return within(["photos"], "readonly", function (stores) { return done(stores.photos.index("key").getAll(key)); }); },
    photosLeft: async function () { return phone.photosLeft(await within(["photos"], "readonly", function (stores) { return done(stores.photos.getAll()); })); },

    picture: async function (uuid) {
      const found = await within(["pictures"], "readonly", function (stores) { return done(stores.pictures.get(uuid)); });
      return found ? new Blob([found.bytes], { type: TYPE }) : null;
    },

    // Store a photo of a tree: with the record that the tree has on this phone, else to wait for its word. False where it has enough.
    addPhoto: function (photo, bytes, who) {
      return within(["photos", "pictures", "queue", "sent"], "readwrite", async function (stores) {
        const record = await newest(stores, who);
        const uuid = record ? record.uuid : null;
        const others = await done(stores.photos.index("tree").getAll(IDBKeyRange.only([photo.key, photo.tree])));
        if (others.filter(function (one) { return one.record === uuid; }).length >= phone.at.photosMost) return false;
        await done(stores.photos.add(Object.assign({}, photo, { record: uuid, state: "waiting", tried: false })));
        await done(stores.pictures.add({ uuid: photo.uuid, bytes }));
        return true;
      });
    },

    // Take a photo away that has never left the phone; false for one that may have. One that is gone already is taken away.
    dropPhoto: function (uuid) {
      return within(["photos", "pictures"], "readwrite", async function (stores) {
        const found = await done(stores.photos.get(uuid));
        if (found && found.tried) return false;
        await done(stores.photos.delete(uuid));
        await done(stores.pictures.delete(uuid));
        return true;
      });
    },

    // The next photo to send, marked before it leaves, with its bytes: its record has arrived. None is {}.
    takePhoto: function (key) {
      return within(["photos", "pictures", "queue"], "readwrite", async function (stores) {
        const queue = new Set(await done(stores.queue.index("key").getAllKeys(key)));
        const photos = await done(stores.photos.index("key").getAll(key));
        const photo = photos.find(function (one) { return one.state === "waiting" && one.record && !queue.has(one.record); });
        if (!photo) return {};
        if (!photo.tried) await done(stores.photos.put(Object.assign(photo, { tried: true })));
        return { photo, picture: await done(stores.pictures.get(photo.uuid)) };
      });
    },

    // What the server said of a photo; only one that it named as stored or known loses its bytes. False for an answer that is not of ours.
    photoAnswered: function (answer) {
      return within(["photos", "pictures"], "readwrite", async function (stores) {
        const photo = answer && typeof answer.uuid === "string" ? await done(stores.photos.get(answer.uuid)) : undefined;
        if (!photo) return false;
        if (answer.result === "stored" || answer.result === "known") {
          await done(stores.photos.put(Object.assign(photo, { state: "sent", reason: "" })));
          await done(stores.pictures.delete(photo.uuid));
        } else if (answer.result === "refused") {
          await done(stores.photos.put(Object.assign(photo, { state: "refused", reason: answer.reason })));
        } else return false;
        return true;
      });
    },

    photosAgain: function (key) {
      return within(["photos"], "readwrite", async function (stores) {
        const photos = await done(stores.photos.index("key").getAll(key));
        await Promise.all(photos.filter(function (one) { return one.state === "refused"; }).map(function (one) {
          return done(stores.photos.put(Object.assign(one, { state: "waiting" })));
        }));
      });
    },
  });

  // -- scaling -----------------------------------------------------------------------------------------

  async function decoded(blob) {
    try {
      return await window.createImageBitmap(blob, { imageOrientation: "from-image" });
    } catch (error) {
      if (!(error instanceof TypeError)) throw error;
      return window.createImageBitmap(blob); // a browser that does not know the word turns it by itself
    }
  }

  // The bytes of a picture as JPEG, small enough to send. A canvas holds pixels only: place, time and camera of the file are left behind.
  async function scaled(file) {
    const bitmap = await decoded(file);
    const scale = Math.min(1, phone.at.photoSide / Math.max(bitmap.width, bitmap.height));
    const canvas = h("canvas", { width: Math.max(1, Math.round(bitmap.width * scale)), height: Math.max(1, Math.round(bitmap.height * scale)) });
    canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
    bitmap.close();
    for (const quality of QUALITIES) {
      const blob = await new Promise(function (resolve) { canvas.toBlob(resolve, TYPE, quality); });
      if (blob && blob.type === TYPE && blob.size <= phone.at.photoBytes) return blob.arrayBuffer();
    }
    throw new Error("not scaled");
  }

  async function drawThumb(canvas, uuid) {
    const blob = await store.picture(uuid);
    if (!blob) return;
    const bitmap = await decoded(blob), scale = Math.max(THUMB / bitmap.width, THUMB / bitmap.height);
    const width = bitmap.width * scale, height = bitmap.height * scale;
    canvas.getContext("2d").drawImage(bitmap, (THUMB - width) / 2, (THUMB - height) / 2, width, height);
    bitmap.close();
  }

  // -- on the notebook page ----------------------------------------------------------------------------

  // The photos that whoever looks took of the open tree, and the button that takes one. `act.photosChanged()` reads them again.
  phone.photoPart = function (state, act) {
    const tree = state.tree, { key, loaded, observer } = state.round, part = h("div", { class: "photos" });
    const input = h("input", { type: "file", accept: "image/*", capture: "environment", hidden: true, id: "photo" });
    const take = button(say("photo"), function () { input.click(); }, { id: "take-photo" });

    async function add(file) {
      let bytes, isAdded;
      try {
        bytes = await scaled(file);
      } catch (error) {
        return act.tell("photo", say("photoUnread"));
      }
      try {
        isAdded = await store.addPhoto({ uuid: phone.newUuid(), key, tree: tree.pk, observer, at: Date.now(), loaded }, bytes, { key, tree: tree.pk, observer, gone: [...state.gone.keys()] });
      } catch (error) {
        return act.tell("photo", say("photoFull"));
      }
      act.tell("photo", isAdded ? null : say("photoMost", { n: phone.at.photosMost }));
    }

    input.addEventListener("change", async function () {
      const file = input.files[0];
      if (!file) return;
      take.disabled = true;
      await add(file);
      take.disabled = false;
      input.value = "";
      await act.photosChanged();
      draw();
      take.focus({ preventScroll: true });
    });

    function shown(photo, number) {
      const canvas = h("canvas", { width: THUMB, height: THUMB, role: "img", "aria-label": say("photoOf", { n: number + 1, tag: tree.tag }) });
      drawThumb(canvas, photo.uuid).catch(function () { /* an empty frame; the bytes are there to be sent */ });
      const drop = async function () {
        const isGone = await store.dropPhoto(photo.uuid);
        act.tell("photo", isGone ? null : say("photoGone"));
        await act.photosChanged();
        draw();
        take.focus({ preventScroll: true });
      };
      return h("div", { class: "thumb" }, canvas, photo.tried ? null : button(say("photoDrop"), drop, { "aria-label": say("photoDropOf", { n: number + 1, tag: tree.tag }) }));
    }

    function draw() {
      const own = state.photos.filter(function (photo) { return photo.tree === tree.pk && (!photo.observer || phone.isSame(photo.observer, observer)); });
      const left = own.filter(isWaiting), sent = own.length - left.length;
      part.replaceChildren(take, input, ...left.map(shown), ...(sent ? [h("p", {}, say("photosSent", { n: sent }))] : []),
        ...(left.length ? [h("p", { class: "said" }, say("photoPlain"))] : []));
    }

    draw();
    return part;
  };

  // -- sending -----------------------------------------------------------------------------------------

  // Send the photos of a round whose records have arrived; gives what went wrong in words, or "".
  phone.sendPhotos = async function (round, address, headersNow) {
    for (;;) {
      const { photo, picture } = await store.takePhoto(round.key);
      if (!photo) return "";
      const { uuid, record, at, loaded } = photo, headers = Object.assign(await headersNow(), { "Content-Type": TYPE });
      const said = new URLSearchParams({ uuid, record, at, loaded, clock: Date.now() });
      const answer = await phone.ask(address + "?" + said, { method: "POST", headers, body: picture.bytes });
      if (answer.status !== 200) return phone.refusal(round, answer);
      if (!(await store.photoAnswered((answer.body.answers || [])[0]))) return say("noSignal");
    }
  };

  // -- files -------------------------------------------------------------------------------------------

  function fileName(state, photo, number) {
    const tree = state.byPk.get(photo.tree), tag = tree ? tree.tag : photo.tree;
    return ["photo", state.data.round.planting, tag, phone.isoDay(new Date(photo.at + state.round.skew)), number + 1].join("-").replace(/[^\w.-]+/g, "_") + ".jpg";
  }

  // A button for each photo that is not sent: one file at a time, so that no phone holds them all in memory.
  phone.photoFiles = function (state) {
    const left = phone.photosLeft(state.photos);
    if (!left.length) return [];
    const line = function (photo, number) {
      const tree = state.byPk.get(photo.tree), tag = tree ? tree.tag : String(photo.tree);
      const save = async function () {
        const blob = await store.picture(photo.uuid);
        if (blob) phone.saveFile(blob, fileName(state, photo, number));
      };
      return h("li", {}, button(say("photoSave", { n: number + 1, tag }), save), photo.reason ? h("p", {}, photo.reason) : null,
        photo.record ? null : h("p", {}, say("photoWaits")));
    };
    return [h("details", { class: "photo-files" }, h("summary", {}, say("photoFiles", { n: left.length })), h("ul", {}, left.slice(0, LISTED).map(line)))];
  };
})();
