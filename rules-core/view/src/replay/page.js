
"use strict";
(function () {
  var moments = document.querySelectorAll(".moment");
  var news = document.querySelectorAll("#news section");
  var slider = document.getElementById("at");
  var button = document.getElementById("play");
  var last = moments.length - 1;
  var now = -1;
  var timer = null;

  function show(index) {
    index = Math.max(0, Math.min(last, index));
    if (index === now) { return; }
    moments.forEach(function (group, at) { group.setAttribute("display", at === index ? "inline" : "none"); });
    news.forEach(function (section, at) { section.hidden = at !== index; });
    now = index;
    slider.value = String(index);
    slider.setAttribute("aria-valuetext", news[index].querySelector("h2").textContent);
  }

  // longer news stay longer: a reader takes in about twenty letters a second
  function pause() { return 1600 + 50 * Math.min(200, news[now].textContent.trim().length); }

  function stop() {
    clearTimeout(timer);
    timer = null;
    button.textContent = "Play";
  }

  function step() {
    if (now >= last) { stop(); return; }
    show(now + 1);
    timer = setTimeout(step, pause());
  }

  function toggle() {
    if (timer !== null) { stop(); return; }
    if (now >= last) { show(0); }
    button.textContent = "Stop";
    timer = setTimeout(step, pause());
  }

  document.getElementById("back").addEventListener("click", function () { stop(); show(now - 1); });
  document.getElementById("on").addEventListener("click", function () { stop(); show(now + 1); });
  button.addEventListener("click", toggle);
  slider.addEventListener("input", function () { stop(); show(Number(slider.value)); });
  document.addEventListener("keydown", function (event) {
    if (event.target === slider || event.altKey || event.ctrlKey || event.metaKey) { return; }
    if (event.key === "ArrowRight") { stop(); show(now + 1); }
    else if (event.key === "ArrowLeft") { stop(); show(now - 1); }
    else if (event.key === "Home") { stop(); show(0); }
    else if (event.key === "End") { stop(); show(last); }
    else if (event.key === " " && event.target.tagName !== "BUTTON") { toggle(); }
    else { return; }
    event.preventDefault();
  });

  document.getElementById("controls").hidden = false;
  var asked = /^#(\d+)$/.exec(location.hash);
  show(asked ? Number(asked[1]) : 0);
})();
