// "/" puts the cursor in the code box. The person menu can turn this off, for people who steer by voice (WCAG 2.1.4).
(function () {
  "use strict";
  const box = document.getElementById("code-box");
  if (!box) return;
  const store = "mastbook.keys";
  const switches = document.querySelectorAll("[data-shortcut-switch]");
  let on = true;
  try { on = localStorage.getItem(store) !== "off"; } catch (error) { /* storage is blocked: the key stays on */ }

  function show() {
    document.documentElement.classList.toggle("keys-off", !on);
    switches.forEach(function (button) {
      button.hidden = false;
      button.textContent = on ? "Turn off the / key" : "Turn on the / key";
    });
  }

  function writing(target) {
    return target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName);
  }

  document.addEventListener("keydown", function (event) {
    if (!on || event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || writing(event.target)) return;
    event.preventDefault();
    box.focus();
    box.select();
  });

  switches.forEach(function (button) {
    button.addEventListener("click", function () {
      on = !on;
      try { localStorage.setItem(store, on ? "on" : "off"); } catch (error) { /* kept for this page only */ }
      show();
    });
  });
  show();
})();
