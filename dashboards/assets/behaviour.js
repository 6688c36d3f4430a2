/* What only the browser knows: its colour scheme, that a page has arrived, where a field stands. */
(function () {
  "use strict";
  var dark = window.matchMedia("(prefers-color-scheme: dark)");
  var shown = null;

  function current() {
    return dark.matches ? "dark" : "light";
  }

  dark.addEventListener("change", function () {
    if (!window.matchMedia("print").matches) {
      window.dash_clientside.set_props("scheme", { data: current() });
    }
  });

  /* Radio buttons and boxes speak for themselves; the package wraps them in the roles of a list. */
  function plain() {
    var marked = ".marks[role], .marks [role=option], .marks [aria-selected]";
    document.querySelectorAll(marked).forEach(function (one) {
      one.removeAttribute("role");
      one.removeAttribute("aria-selected");
    });
    document.querySelectorAll(".drops input[type=file]:not([aria-label])").forEach(function (one) {
      one.setAttribute("aria-label", one.closest("[role=group]").getAttribute("aria-label"));
    });
  }

  new MutationObserver(plain).observe(document.documentElement, {
    subtree: true,
    childList: true,
    attributeFilter: ["aria-selected"],
  });

  /* A long table comes as data and its rows are built here; each cell a text, or a link of ours. */
  function cellOf(kind, content) {
    var cell = document.createElement(kind);
    cell.setAttribute("role", kind === "td" ? "cell" : "rowheader");
    if (typeof content === "string") {
      cell.textContent = content;
      return cell;
    }
    var link = cell.appendChild(document.createElement("a"));
    link.textContent = content[0];
    link.setAttribute("href", content[1].startsWith("/") ? content[1] : "#");
    return cell;
  }

  function rowOf(grid, texts) {
    var row = document.createElement("tr");
    row.setAttribute("role", "row");
    texts.forEach(function (content, place) {
      var cell = row.appendChild(cellOf(place ? "td" : "th", content));
      if (!place) {
        cell.scope = "row";
        return;
      }
      cell.dataset.head = grid.heads[place];
      cell.className = grid.numeric.includes(place) ? "number" : "";
    });
    return row;
  }

  function headOf(grid) {
    var row = document.createElement("tr");
    row.setAttribute("role", "row");
    grid.heads.forEach(function (text, place) {
      var cell = row.appendChild(document.createElement("th"));
      cell.scope = "col";
      cell.setAttribute("role", "columnheader");
      cell.className = grid.numeric.includes(place) ? "number" : "";
      cell.textContent = text;
    });
    return row;
  }

  function built(grid) {
    var table = document.createElement("table");
    table.setAttribute("role", "table");
    table.setAttribute("aria-label", grid.label);
    table.className = grid.stacked ? "stacked" : "";
    ["thead", "tbody"].forEach(function (name) {
      table.appendChild(document.createElement(name)).setAttribute("role", "rowgroup");
    });
    table.tHead.appendChild(headOf(grid));
    grid.body.forEach(function (texts) {
      table.tBodies[0].appendChild(rowOf(grid, texts));
    });
    return table;
  }

  var grids = new WeakMap();

  function build() {
    document.querySelectorAll("[data-grid]").forEach(function (room) {
      if (grids.get(room) !== room.dataset.grid) {
        grids.set(room, room.dataset.grid);
        room.replaceChildren(built(JSON.parse(room.dataset.grid)));
      }
    });
  }

  new MutationObserver(build).observe(document.documentElement, {
    subtree: true,
    childList: true,
    attributeFilter: ["data-grid"],
  });

  /* A button that names a field opens the field's group and goes there; one with a value fills it in. */
  document.addEventListener("click", function (event) {
    var button = event.target.closest("button[data-field]");
    if (!button) {
      return;
    }
    var id = { key: button.dataset.field, type: "answer" };
    var field = document.getElementById(JSON.stringify(id));
    if (!field) {
      return;
    }
    if (button.dataset.value !== undefined) {
      window.dash_clientside.set_props(id, { value: button.dataset.value });
    }
    for (var group = field.closest("details"); group; group = group.parentElement.closest("details")) {
      group.open = true;
    }
    var target = field.matches("input, textarea") ? field : field.querySelector("input, textarea");
    (target || field).focus();
  });

  /* Cards wait for their figures: those in sight are asked for at once, the others one after another. */
  function inSight(card) {
    var box = card.getBoundingClientRect();
    return box.top < window.innerHeight && box.bottom > 0;
  }

  function ask(card) {
    card.dataset.asked = "yes";
    window.dash_clientside.set_props({ type: "ask", key: card.dataset.key }, { data: 1 });
  }

  function askNext() {
    if (!window.dash_clientside.set_props) {
      return;
    }
    document.querySelectorAll(".card[data-asked]:not(.waiting)").forEach(function (card) {
      delete card.dataset.asked;
    });
    var cards = Array.from(document.querySelectorAll(".card.waiting:not([data-asked])"));
    cards.filter(inSight).forEach(ask);
    var rest = cards.filter(function (card) {
      return !card.dataset.asked;
    });
    if (rest.length && !document.querySelector(".card.waiting[data-asked]")) {
      ask(rest[0]);
    }
  }

  new MutationObserver(askNext).observe(document.documentElement, {
    subtree: true,
    childList: true,
    attributeFilter: ["class"],
  });
  document.addEventListener("scroll", askNext, { passive: true });

  /* On paper a drawing is made anew for the sheet's width, and shrinks with the column it stands in. */
  var sheet = 690; /* px: A4 less its margins */
  var printed = [];

  function eachDrawing(act) {
    document.querySelectorAll(".js-plotly-plot").forEach(function (plot) {
      var frame = plot.querySelector(".svg-container");
      if (frame && plot.layout) {
        act(plot, frame);
      }
    });
  }

  window.addEventListener("beforeprint", function () {
    eachDrawing(function (plot, frame) {
      if (frame.clientWidth > sheet) {
        printed.push({ plot: plot, height: plot._fullLayout.height });
        window.Plotly.relayout(plot, { width: sheet, autosize: false });
      }
      var across = plot._fullLayout.width;
      var down = plot._fullLayout.height;
      frame.style.setProperty("--across", across);
      frame.style.setProperty("--down", down);
      frame.querySelectorAll(":scope > svg").forEach(function (svg) {
        svg.setAttribute("viewBox", "0 0 " + across + " " + down);
      });
    });
  });

  window.addEventListener("afterprint", function () {
    eachDrawing(function (plot, frame) {
      frame.querySelectorAll(":scope > svg").forEach(function (svg) {
        svg.removeAttribute("viewBox");
      });
    });
    printed.splice(0).forEach(function (one) {
      window.Plotly.relayout(one.plot, { width: null, height: one.height, autosize: true });
    });
  });

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.tally = {
    scheme: function () {
      return current();
    },
    arrived: function (children, pathname) {
      if (!children) {
        return window.dash_clientside.no_update;
      }
      var first = shown === null;
      var moved = shown !== pathname;
      shown = pathname;
      window.requestAnimationFrame(function () {
        var heading = document.querySelector("#content h1");
        if (!heading) {
          return;
        }
        document.title = heading.textContent + " · Tallylux";
        if (moved && !first) {
          document.getElementById("content").focus({ preventScroll: true });
          window.scrollTo(0, 0);
        }
      });
      return "";
    },
  };
})();
