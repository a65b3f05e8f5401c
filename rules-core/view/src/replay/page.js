
"use strict";
(function () {
  var byId = function (id) { return document.getElementById(id); };
  var svg = document.querySelector("figure svg");
  var frame = byId("replay-frame");
  var moments = Array.prototype.slice.call(document.querySelectorAll(".moment"));
  var news = document.querySelectorAll("#news section");
  var slider = byId("at"), button = byId("play"), speed = byId("speed");
  var last = moments.length - 1, now = -1, timer = null, gliding = null;
  var calm = window.matchMedia("(prefers-reduced-motion: reduce)");

  // ---- a moment and how units come to where they stand in it

  function numbers(text, mark) { return text.trim().split(mark).map(Number); }

  // stations of a way: place, bearing, and millimetres of tape from the start
  function stations(group) {
    var sum = 0;
    return group.getAttribute("data-way").split(";").map(function (text) {
      var n = numbers(text, " ");
      sum += n[3];
      return { x: n[0], y: n[1], deg: n[2], mm: sum };
    });
  }

  // between two stations a unit goes as a rigid body goes: straight, or about one point
  function between(a, b, share) {
    var turn = ((b.deg - a.deg) % 360 + 540) % 360 - 180;
    if (b.deg - a.deg === 180) { turn = 180; }
    var deg = a.deg + turn * share;
    if (Math.abs(turn) < 0.01) {
      return { x: a.x + (b.x - a.x) * share, y: a.y + (b.y - a.y) * share, deg: deg };
    }
    var half = turn * Math.PI / 360, tan = Math.tan(half), dx = b.x - a.x, dy = b.y - a.y;
    var cx = (a.x + b.x) / 2 - dy / 2 / tan, cy = (a.y + b.y) / 2 + dx / 2 / tan;
    var angle = turn * share * Math.PI / 180, cos = Math.cos(angle), sin = Math.sin(angle);
    return { x: cx + (a.x - cx) * cos - (a.y - cy) * sin, y: cy + (a.x - cx) * sin + (a.y - cy) * cos, deg: deg };
  }

  function placed(way, share) {
    var length = way[way.length - 1].mm, at = length * share, index = 1;
    if (length <= 0) { return between(way[0], way[way.length - 1], share); }
    while (index < way.length - 1 && way[index].mm < at) { index += 1; }
    var a = way[index - 1], b = way[index], run = b.mm - a.mm;
    return between(a, b, run > 0 ? Math.max(0, Math.min(1, (at - a.mm) / run)) : 1);
  }

  function movers(group) {
    return Array.prototype.map.call(group.querySelectorAll(".unit[data-way]"), function (unit) {
      var id = unit.getAttribute("data-unit"), way = stations(unit);
      var of = function (kind) {
        return Array.prototype.filter.call(group.querySelectorAll(kind), function (other) { return other.getAttribute("data-unit") === id; });
      };
      return { unit: unit, way: way, names: of(".name"), leaders: of(".leader") };
    });
  }

  function put(mover, share) {
    var end = mover.way[mover.way.length - 1], is = placed(mover.way, share), done = share >= 1;
    if (done) { mover.unit.removeAttribute("transform"); }
    else {
      mover.unit.setAttribute("transform", "translate(" + is.x + " " + is.y + ") rotate(" + (is.deg - end.deg) + ") translate(" + -end.x + " " + -end.y + ")");
    }
    mover.names.forEach(function (name) { name.shift = done ? null : [is.x - end.x, is.y - end.y]; letter(name); });
    mover.leaders.forEach(function (leader) { leader.setAttribute("display", done ? "inline" : "none"); });
  }

  function settle() {
    if (gliding) {
      cancelAnimationFrame(gliding.frame);
      gliding.movers.forEach(function (mover) { put(mover, 1); });
      gliding = null;
    }
  }

  // the longest way sets how long all take; battles are looked at before anybody gives ground
  function glide(group, then) {
    var all = movers(group), longest = 0;
    all.forEach(function (mover) { longest = Math.max(longest, mover.way[mover.way.length - 1].mm); });
    if (calm.matches || all.length === 0) { then(); return; }
    var hold = group.querySelector(".fight") ? 900 : 150;
    var lasts = Math.min(2600, 700 + longest * 9), begun = null;
    gliding = { movers: all, frame: 0 };
    var draw = function (time) {
      if (begun === null) { begun = time; }
      var share = Math.max(0, Math.min(1, ((time - begun) * pace() - hold) / lasts));
      var eased = share * share * (3 - 2 * share);
      all.forEach(function (mover) { put(mover, eased); });
      if (share < 1) { gliding.frame = requestAnimationFrame(draw); }
      else { gliding = null; then(); }
    };
    all.forEach(function (mover) { put(mover, 0); });
    gliding.frame = requestAnimationFrame(draw);
  }

  function pace() { return Number(speed.value) || 1; }

  function show(index) {
    index = Math.max(0, Math.min(last, index));
    if (index === now) { return false; }
    settle();
    moments.forEach(function (group, at) { group.setAttribute("display", at === index ? "inline" : "none"); });
    news.forEach(function (section, at) { section.hidden = at !== index; });
    now = index;
    slider.value = String(index);
    byId("count").textContent = (index + 1) + " of " + (last + 1);
    slider.setAttribute("aria-valuetext", news[index].querySelector("h2").textContent);
    light(null);
    fit();
    return true;
  }

  // after the gliding there is time to read: short news about two seconds, long ones four
  function pause() { return (1300 + 16 * Math.min(170, news[now].textContent.trim().length)) / pace(); }

  function stop() {
    clearTimeout(timer);
    timer = null;
    button.textContent = "Play";
  }

  function wait() {
    clearTimeout(timer);
    timer = setTimeout(step, pause());
  }

  function step() {
    if (now >= last) { stop(); return; }
    show(now + 1);
    timer = -1;
    glide(moments[now], function () { if (timer !== null) { wait(); } });
  }

  function toggle() {
    if (timer !== null) { stop(); return; }
    if (now >= last) { show(0); }
    button.textContent = "Stop";
    step();
  }

  function go(index) {
    stop();
    var forward = index === now + 1;
    if (show(index) && forward) { glide(moments[now], function () {}); }
  }

  // ---- battles: the news and the links on the map go together

  function light(number) {
    moments[now].querySelectorAll(".fight").forEach(function (fight) {
      fight.classList.toggle("dim", number !== null && fight.getAttribute("data-fight") !== number);
    });
    news[now].querySelectorAll(".told").forEach(function (told) {
      told.classList.toggle("lit", told.getAttribute("data-fight") === number);
    });
  }

  document.querySelectorAll(".told").forEach(function (told) {
    var number = told.getAttribute("data-fight");
    told.addEventListener("pointerenter", function () { light(number); });
    told.addEventListener("pointerleave", function () { light(null); });
    told.addEventListener("click", function () { light(told.classList.contains("lit") ? null : number); });
  });

  // ---- the map: what of it is seen, and how large its letters are

  var whole = numbers(svg.getAttribute("viewBox"), " ");
  var map = ["x", "y", "width", "height"].map(function (side) { return Number(frame.getAttribute(side)); });
  var view = null, home = null;

  function narrow() { return window.innerWidth <= 700; }

  function look(next) {
    var wide = Math.min(home[2], Math.max(home[2] / 12, next[2])), high = wide * home[3] / home[2];
    var within = function (value, low, room, size) { return Math.max(low, Math.min(low + room - size, value)); };
    view = [within(next[0], home[0], home[2], wide), within(next[1], home[1], home[3], high), wide, high];
    svg.setAttribute("viewBox", view.join(" "));
    svg.classList.toggle("near", wide < home[2] * 0.999);
    fit();
  }

  function begin() {
    home = narrow() ? map : whole;
    svg.setAttribute("width", home[2]);
    svg.setAttribute("height", home[3]);
    look(home);
  }

  // so many units of the picture make a pixel of the screen
  function grain() { return view[2] / Math.max(1, svg.getBoundingClientRect().width); }

  // what is measured of a name once: its middle, its unit's, half the unit's extent, and how wide it is
  function measured(name) {
    if (!name.at) {
      var text = name.querySelector("text:last-of-type"), rest = text.querySelector(".rest");
      name.at = numbers(name.getAttribute("data-at"), " ");
      name.wide = text.getComputedTextLength();
      name.mark = name.wide - (rest ? rest.getComputedTextLength() : 0);
      name.rest = name.querySelectorAll(".rest");
    }
    return name.at;
  }

  // where a name may stand: as it was lettered, pushed off its unit as it grows, then as a mark on each side of it
  function places(name, scale, high) {
    var n = measured(name), dx = n[0] - n[2], dy = n[1] - n[3], far = Math.sqrt(dx * dx + dy * dy) || 1;
    var more = Math.max(0, scale - 1) / 2, w = name.mark * scale / 2, h = high * scale / 2;
    var own = { x: n[0] + dx / far * more * name.wide, y: n[1] + dy / far * more * high, half: name.wide * scale / 2, full: true };
    var mark = function (x, y) { return { x: n[2] + x, y: n[3] + y, half: w, full: false }; };
    return [own, { x: own.x, y: own.y, half: w, full: false }].concat(
      mark(0, n[5] + h), mark(0, -n[5] - h), mark(n[4] + w, 0), mark(-n[4] - w, 0),
      mark(n[4] + w, n[5]), mark(-n[4] - w, n[5]), mark(n[4] + w, -n[5]), mark(-n[4] - w, -n[5]));
  }

  // names grow where the map is drawn small, so that they can be read, and none covers another or another's unit
  function spell() {
    var scale = Math.max(0.3, Math.min(4.2, grain() * (narrow() ? 0.95 : 0.9))), high = 13, taken = [];
    if (scale < 1 && view[2] > home[2] * 0.999) { scale = 1; }
    var only_marks = grain() > 1.9, all = Array.prototype.slice.call(moments[now].querySelectorAll(".name"));
    all.forEach(function (name) {
      var n = measured(name), h = high * scale / 2;
      var free = function (place) {
        var covers = function (x, y, half, tall) { return Math.abs(place.x - x) < place.half + half && Math.abs(place.y - y) < h + tall; };
        return taken.every(function (t) { return !covers(t.x, t.y, t.half, h); }) && (scale <= 1 || all.every(function (other) {
          return other === name || !covers(measured(other)[2], measured(other)[3], other.at[4] * 0.7, other.at[5] * 0.7);
        }));
      };
      var choice = places(name, scale, high).filter(function (place) { return !(place.full && only_marks); });
      var found = choice.filter(free)[0] || (scale <= 1 ? choice[0] : choice.filter(function (p) { return !p.full; })[0]);
      found.half = found.full ? found.half : name.mark * scale / 2;
      taken.push(found);
      name.rest.forEach(function (rest) { rest.setAttribute("display", found.full ? "inline" : "none"); });
      name.goes = { x: found.x, y: found.y, scale: scale };
      letter(name);
    });
    moments[now].querySelectorAll(".disc").forEach(function (disc) {
      var at = numbers(disc.getAttribute("data-at"), " "), size = Math.max(1, Math.min(3, scale));
      disc.setAttribute("transform", "translate(" + at[0] + " " + at[1] + ") scale(" + size + ") translate(" + -at[0] + " " + -at[1] + ")");
    });
  }

  function letter(name) {
    var n = measured(name), goes = name.goes || { x: n[0], y: n[1], scale: 1 }, by = name.shift || [0, 0];
    name.setAttribute("transform", "translate(" + (goes.x + by[0]) + " " + (goes.y + by[1]) + ") scale(" + goes.scale + ") translate(" + -n[0] + " " + -n[1] + ")");
  }

  function fit() {
    if (!view || now < 0) { return; }
    svg.classList.toggle("small", grain() > 1.9);
    spell();
  }

  function zoom(times, x, y) {
    var box = svg.getBoundingClientRect();
    var u = x === undefined ? 0.5 : (x - box.left) / box.width, v = y === undefined ? 0.5 : (y - box.top) / box.height;
    var wide = Math.min(home[2], Math.max(home[2] / 12, view[2] / times)), high = wide * view[3] / view[2];
    look([view[0] + (view[2] - wide) * u, view[1] + (view[3] - high) * v, wide, high]);
  }

  svg.addEventListener("wheel", function (event) {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.002)), event.clientX, event.clientY);
  }, { passive: false });
  svg.addEventListener("dblclick", function (event) { zoom(2, event.clientX, event.clientY); });

  var held = new Map();
  function spread() {
    var all = Array.from(held.values()), a = all[0], b = all[1] || a;
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, far: Math.hypot(a.x - b.x, a.y - b.y) };
  }
  svg.addEventListener("pointerdown", function (event) {
    if (event.pointerType === "mouse" && event.button !== 0) { return; }
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (held.size > 1 || view[2] < home[2]) { svg.setPointerCapture(event.pointerId); svg.classList.add("held"); }
  });
  svg.addEventListener("pointermove", function (event) {
    if (!held.has(event.pointerId)) { return; }
    var before = spread();
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    var after = spread(), size = grain();
    if (held.size > 1 && before.far > 0) { zoom(after.far / before.far, after.x, after.y); }
    look([view[0] - (after.x - before.x) * size, view[1] - (after.y - before.y) * size, view[2], view[3]]);
  });
  ["pointerup", "pointercancel"].forEach(function (kind) {
    svg.addEventListener(kind, function (event) {
      held.delete(event.pointerId);
      if (held.size === 0) { svg.classList.remove("held"); }
    });
  });

  // ---- buttons and keys

  byId("back").addEventListener("click", function () { go(now - 1); });
  byId("on").addEventListener("click", function () { go(now + 1); });
  byId("nearer").addEventListener("click", function () { zoom(1.6); });
  byId("farther").addEventListener("click", function () { zoom(1 / 1.6); });
  byId("all").addEventListener("click", function () { look(home); });
  button.addEventListener("click", toggle);
  slider.addEventListener("input", function () { stop(); show(Number(slider.value)); });
  speed.addEventListener("change", function () { if (timer !== null && timer !== -1) { wait(); } });
  window.addEventListener("resize", begin);
  document.addEventListener("keydown", function (event) {
    var on = event.target.tagName;
    if (event.target === slider || on === "SELECT" || event.altKey || event.ctrlKey || event.metaKey) { return; }
    if (event.key === "ArrowRight") { go(now + 1); }
    else if (event.key === "ArrowLeft") { go(now - 1); }
    else if (event.key === "Home") { go(0); }
    else if (event.key === "End") { go(last); }
    else if (event.key === "+" || event.key === "=") { zoom(1.6); }
    else if (event.key === "-") { zoom(1 / 1.6); }
    else if (event.key === "0") { look(home); }
    else if (event.key === " " && on !== "BUTTON") { toggle(); }
    else { return; }
    event.preventDefault();
  });

  byId("controls").hidden = false;
  var asked = /^#(\d+)$/.exec(location.hash);
  begin();
  show(asked ? Number(asked[1]) : 0);
})();
