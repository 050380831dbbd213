// Finds a tree by the code on its tag, where the browser can read codes from the camera. The box to type into stays beside it.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say } = phone;
  const PAUSE_MS = 200;
  let stop = function () { /* no camera is on */ };

  phone.canScan = "BarcodeDetector" in window && Boolean(navigator.mediaDevices && navigator.mediaDevices.getUserMedia);

  // Release the camera: every change of the screen calls this.
  phone.stopScan = function () { stop(); };

  // What a tag says: the address of the tree on Mastbook, its code with that of the planting, or the bare tag.
  function coded(text) {
    try {
      return new URL(text).searchParams.get("q") || text;
    } catch (error) {
      return text;
    }
  }

  phone.treeOfCode = function (state, text) {
    const code = coded(text).trim().toUpperCase(), planting = state.data.round.planting.toUpperCase() + "/";
    const tag = code.startsWith(planting) ? code.slice(planting.length) : code;
    return state.trees.find(function (tree) { return tree.tag.toUpperCase() === tag; });
  };

  async function look(video, said, state, act) {
    let stream = null, isOver = false;
    const end = stop = function () { // its own end: a later scan has another
      isOver = true;
      video.hidden = true;
      if (stream) stream.getTracks().forEach(function (track) { track.stop(); });
    };
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
      if (isOver) return end();
      video.srcObject = stream;
      await video.play();
      const detector = new window.BarcodeDetector();
      while (!isOver) {
        for (const found of await detector.detect(video)) {
          const tree = phone.treeOfCode(state, found.rawValue);
          if (tree && !isOver) return act.open(tree);
          said.textContent = say("scanUnknown", { code: coded(found.rawValue).slice(0, 60) });
        }
        await new Promise(function (resolve) { window.setTimeout(resolve, PAUSE_MS); });
      }
    } catch (error) {
      if (isOver) return;
      end();
      said.textContent = say("scanFailed");
    }
  }

  // The camera above the screen that finds a tree by typing.
  phone.scanScreen = function (state, act) {
    const video = h("video", { class: "scan", playsinline: true, "aria-label": say("scanView") });
    const said = h("p", { role: "status" }, say("scanHold"));
    video.muted = true;
    look(video, said, state, act);
    return [video, said, ...phone.findScreen(state, act)];
  };

  document.addEventListener("visibilitychange", function () { if (document.visibilityState === "hidden") stop(); });
})();
