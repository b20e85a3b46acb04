"""The storyboard as one HTML page that needs nothing beside it: no network, no other file.

It can be read from top to bottom, without scripts and by a screen reader: every picture has its
title and description, every part is a section with a heading, and the chapter list links to them.
With scripts one part can be shown at a time, by buttons or by the arrow keys.
"""

from __future__ import annotations

from html import escape

from gridcrux.figures.storyboard.story import Part, Storyboard, clock, outcome
from gridcrux.figures.svg import scene_svg

_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 62rem; padding: 1rem; color: #111; background: #fff;
  font: 1.05rem/1.5 system-ui, sans-serif; }
a { color: #00508a; }
a:focus-visible, button:focus-visible, summary:focus-visible, section:focus-visible {
  outline: 3px solid #d55e00; outline-offset: 2px; }
.skip { position: absolute; left: -100vw; }
.skip:focus { left: 1rem; background: #fff; padding: .5rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; }
h2 { font-size: 1.2rem; margin: 0 0 .6rem; }
nav ol { columns: 18rem; padding-left: 0; list-style: none; }
nav li { break-inside: avoid; }
time { font-variant-numeric: tabular-nums; color: #444; margin-right: .5em; }
section { border-top: 1px solid #bbb; padding: 1.2rem 0; display: grid; gap: 1.2rem;
  grid-template-columns: minmax(16rem, 27rem) 1fr; align-items: start; }
section > h2 { grid-column: 1 / -1; }
.look { font-weight: 600; }
.beside, .legend { color: #444; }
.legend { border-top: 1px solid #bbb; padding-top: 1rem; }
.controls { position: sticky; bottom: 0; background: #fff; border-top: 1px solid #bbb;
  padding: .5rem 0; display: none; gap: .6rem; align-items: center; }
.js .controls { display: flex; }
button { font: inherit; padding: .35rem .9rem; border: 1px solid #444; border-radius: .3rem;
  background: #f4f4f4; color: #111; }
button[disabled] { color: #5f5f5f; }
.one section { display: none; }
.one section.now { display: grid; }
.js section { scroll-margin-bottom: 4rem; }
.js main { padding-bottom: 4rem; }
@media (max-width: 46rem) { section { grid-template-columns: 1fr; } }
@media print { .controls { display: none !important; } section { break-inside: avoid; } }
"""

LEGEND = (
    "Outlined: the cells and houses that one looks up; ringed: what they have left there; struck "
    "through: excluded; in a disc: written; in a green circle: written together. Along a chain a "
    "thick line joins two of which at least one is true, from a blue circle to a yellow square, "
    "and a dashed line two that are not both true; dots hold candidates together that are one "
    "place of the chain."
)
"""What the marks of the boards mean."""

_SCRIPT = """
(function () {
  var root = document.documentElement, now = 0;
  var parts = Array.prototype.slice.call(document.querySelectorAll("section"));
  var back = document.getElementById("back"), on = document.getElementById("on");
  var all = document.getElementById("all"), where = document.getElementById("where");
  root.classList.add("js");
  function show(number, focus) {
    now = Math.max(0, Math.min(parts.length - 1, number));
    parts.forEach(function (part, i) { part.classList.toggle("now", i === now); });
    back.disabled = now === 0;
    on.disabled = now === parts.length - 1;
    where.textContent = "part " + (now + 1) + " of " + parts.length;
    if (focus) {
      parts[now].focus({preventScroll: true});
      parts[now].scrollIntoView({block: "start"});
    }
  }
  function single(yes) {
    document.body.classList.toggle("one", yes);
    all.setAttribute("aria-pressed", yes ? "false" : "true");
  }
  back.onclick = function () { single(true); show(now - 1, true); };
  on.onclick = function () {
    var whole = !document.body.classList.contains("one");
    single(true);
    show(whole ? now : now + 1, true);
  };
  all.onclick = function () { single(!document.body.classList.contains("one")); };
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey) { return; }
    if (event.key === "ArrowRight") { on.click(); event.preventDefault(); }
    if (event.key === "ArrowLeft") { back.click(); event.preventDefault(); }
  });
  parts.forEach(function (part, i) {
    document.querySelector('a[href="#' + part.id + '"]').addEventListener("click", function () {
      show(i, false);
    });
  });
  show(0, false);
}());
"""


def page(board: Storyboard, title: str = "A walk through a puzzle") -> str:
    """The page as text.

    Parameters
    ----------
    title : of the page; the puzzle itself is told below it.
    """
    items = "".join(
        f'<li><a href="#part-{part.number}"><time>{clock(begins)}</time>'
        f"{escape(part.title)}</a></li>"
        for begins, part in board.timed()
    )
    sections = "".join(map(_section, board))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#parts">to the first part</a>\n'
        f"<header><h1>{escape(title)}</h1><p>{escape(board.headline)}.</p></header>\n"
        f'<nav aria-label="chapters"><ol>{items}</ol></nav>\n'
        f'<main id="parts">\n{sections}<p class="legend">{escape(LEGEND)}</p></main>\n'
        '<nav class="controls" aria-label="one part at a time">'
        '<button id="back" type="button">back</button>'
        '<button id="on" type="button">on</button>'
        '<button id="all" type="button" aria-pressed="true">all parts</button>'
        '<span id="where" role="status"></span></nav>\n'
        f"<script>{_SCRIPT}</script>\n</body>\n</html>\n"
    )


def _section(part: Part) -> str:
    said = f'<p class="look">{escape(part.look)}</p>' if part.look else ""
    said += f"<p>{escape(part.why)}</p>"
    said += "".join(f"<p>{escape(text)}</p>" for text in (part.falls, part.opens) if text)
    number = f" <small>(hard step {part.hard_number})</small>" if part.hard else ""
    if part.beside:
        said += f'<p class="beside">{escape(part.beside)}</p>'
    if part.others:
        ways = f"{len(part.others)} other way{'' if len(part.others) == 1 else 's'}"
        items = "".join(
            f"<li>{escape(step.technique)}, {escape(outcome(step))}: {escape(step.sentence)}</li>"
            for step in part.others
        )
        said += f"<details><summary>{ways}</summary><ol>{items}</ol></details>"
    return (
        f'<section id="part-{part.number}" tabindex="-1" aria-labelledby="head-{part.number}">'
        f'<h2 id="head-{part.number}">{part.number}. {escape(part.title)}{number}</h2>'
        f"<div>{scene_svg(part.scene)}</div><div>{said}</div></section>\n"
    )
