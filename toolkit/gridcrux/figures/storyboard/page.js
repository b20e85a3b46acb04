// One part at a time: by buttons, by keys, and by the address of a part.
(function () {
  var root = document.documentElement, now = 0;
  var parts = Array.prototype.slice.call(document.querySelectorAll("section"));
  var back = document.getElementById("back"), on = document.getElementById("on");
  var all = document.getElementById("all"), where = document.getElementById("where");
  root.classList.add("js");

  function alone() { return document.body.classList.contains("one"); }

  function show(number, focus) {
    now = Math.max(0, Math.min(parts.length - 1, number));
    parts.forEach(function (part, i) { part.classList.toggle("now", i === now); });
    back.disabled = now === 0;
    on.disabled = now === parts.length - 1;
    where.textContent = "part " + (now + 1) + " of " + parts.length;
    if (focus) {
      // So that the address leads back to this part, and the button "back" of the browser away.
      history.replaceState(null, "", "#" + parts[now].id);
      parts[now].focus({preventScroll: true});
      parts[now].scrollIntoView({block: "start"});
    }
  }

  function single(yes) {
    document.body.classList.toggle("one", yes);
    all.setAttribute("aria-pressed", yes ? "false" : "true");
  }

  // The first key or button shows the part where one is, the others go on from there.
  function go(number) {
    var before = alone();
    single(true);
    show(before ? number : now, true);
  }

  function follow() {
    parts.forEach(function (part, i) {
      if (location.hash === "#" + part.id) { show(i, false); }
    });
  }

  back.onclick = function () { go(now - 1); };
  on.onclick = function () { go(now + 1); };
  all.onclick = function () {
    single(!alone());
    parts[now].scrollIntoView({block: "start"});
  };
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    // With all parts shown these two scroll, and the parts go on from there.
    if (event.key === "Home" && !alone()) { show(0, false); return; }
    if (event.key === "End" && !alone()) { show(parts.length - 1, false); return; }
    if (event.key === "ArrowRight") { go(now + 1); }
    else if (event.key === "ArrowLeft") { go(now - 1); }
    else if (event.key === "Home") { go(0); }
    else if (event.key === "End") { go(parts.length - 1); }
    else if (event.key === "Escape" && alone()) { all.click(); }
    else { return; }
    event.preventDefault();
  });
  window.addEventListener("hashchange", follow);
  show(0, false);
  follow();
}());
