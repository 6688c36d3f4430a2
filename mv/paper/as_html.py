"""A document as one HTML file that needs nothing else: no script, no link, nothing from outside.

Every text goes through `escape`; only the charts' own SVG is put in as it is.
"""

from html import escape
from itertools import groupby

from mv.base.document import (
    Block,
    Caution,
    Document,
    Drawing,
    Facts,
    Figures,
    Grid,
    Heading,
    Listing,
    Notice,
    Pair,
    Prose,
    Section,
    SignatureLines,
)
from mv.paper.sheet_style import STYLE

# Nothing may be fetched or run, whatever a text might hold.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
MOST_STACKED_COLUMNS, MOST_STACKED_ROWS = 6, 12  # larger tables scroll sideways on a narrow screen
TOTAL = ' class="total"'
NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'  # an SVG file needs it, SVG inside HTML does not


def as_html(document: Document) -> str:
    """The whole file's text."""
    sections = "\n".join(_section(section, number) for number, section in enumerate(document.sections, 1))
    opening = _blocks(document.opening)
    names = "one-page larger" if document.larger else "one-page"
    kind = f' class="{names}"' if document.one_page else ""
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(document.title)}</title>
<style>{STYLE}</style>
</head>
<body{kind}>
<main>
<header><h1>{escape(document.title)}</h1><p class="sub">{escape(document.subtitle)}</p></header>
{opening}
{sections}
<footer>{escape(document.foot)}</footer>
</main>
</body>
</html>
"""


def _section(section: Section, number: int) -> str:
    letter = f'<span class="letter">{escape(section.letter)}</span>' if section.letter else ""
    blocks = _blocks(section.blocks)
    kind = "" if section.on_paper else ' class="screen-only"'
    return (
        f'<section{kind} aria-labelledby="part-{number}">'
        f'<h2 id="part-{number}">{letter}{escape(section.title)}</h2>\n{blocks}</section>'
    )


def _blocks(blocks: tuple[Block, ...]) -> str:
    """The blocks in order; notices that follow each other share columns."""
    parts = []
    for kind, run in groupby(blocks, key=lambda block: isinstance(block, Notice)):
        text = "\n".join(_block(block) for block in run)
        parts.append(f'<div class="notices">{text}</div>' if kind else text)
    return "\n".join(parts)


def _block(block: Block) -> str:
    match block:
        case Prose(text, tone):
            kind = "" if tone == "plain" else f' class="{tone}"'
            return f"<p{kind}>{escape(text)}</p>"
        case Heading(text):
            return f"<h3>{escape(text)}</h3>"
        case Listing(items, numbered):
            return _listing(items, "ol" if numbered else "ul")
        case Facts(pairs):
            return _facts(pairs)
        case Grid():
            return _grid(block)
        case Drawing():
            return _drawing(block)
        case Pair(left, right):
            return f'<div class="pair">{_half(left)}{_half(right)}</div>'
        case Caution(title, items):
            return f'<div class="caution" role="note"><h3>{escape(title)}</h3>{_listing(items, "ul")}</div>'
        case Figures(items):
            return _figures(block)
        case Notice():
            return _notice(block)
        case SignatureLines(roles):
            lines = "".join(f"<p>{escape(role)}: name, date, signature</p>" for role in roles)
            return f'<div class="signatures">{lines}</div>'


def _listing(items: tuple[str, ...], tag: str) -> str:
    return f"<{tag}>{''.join(f'<li>{escape(item)}</li>' for item in items)}</{tag}>"


def _facts(pairs: tuple[tuple[str, str], ...]) -> str:
    rows = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in pairs)
    return f'<dl class="facts">{rows}</dl>'


def _figures(block: Figures) -> str:
    items = "".join(
        f'<div><dt>{escape(item.name)}</dt><dd class="value">{escape(item.value)}</dd>'
        f'<dd class="detail">{escape(item.detail)}</dd></div>'
        for item in block.items
    )
    return f'<dl class="figures">{items}</dl>'


def _grid(table: Grid) -> str:
    kinds = ["" if column.align == "left" else ' class="right"' for column in table.columns]
    stacked = len(table.columns) <= MOST_STACKED_COLUMNS and len(table.rows) <= MOST_STACKED_ROWS
    titles = [escape(column.title) for column in table.columns] if stacked else []
    head = "".join(
        f'<th scope="col"{kind}>{escape(column.title)}</th>'
        for column, kind in zip(table.columns, kinds, strict=True)
    )
    first_total = len(table.rows) - table.total_rows
    body = "".join(
        f"<tr{TOTAL if place >= first_total else ''}>{_cells(row, kinds, titles)}</tr>"
        for place, row in enumerate(table.rows)
    )
    note = f'<p class="note">{escape(table.note)}</p>' if table.note else ""
    kind, name = "stack" if stacked else "wide", escape(table.title)
    opening = f'<div class="{kind}" role="region" tabindex="0" aria-label="{name}"><table>'
    return (
        f"{opening}<caption>{name}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>{note}"
    )


def _cells(row: tuple[str, ...], kinds: list[str], titles: list[str]) -> str:
    """The row's cells; `titles` name each where the table is set as a stack on a narrow screen."""
    heads = [f' data-head="{title}"' for title in titles] or [""] * len(row)
    return "".join(
        f"<td{kind}{head}>{escape(cell)}</td>" for cell, kind, head in zip(row, kinds, heads, strict=True)
    )


def _drawing(drawing: Drawing) -> str:
    broad_svg, narrow_svg = (text.replace(NAMESPACE, "", 1) for text in (drawing.svg, drawing.narrow_svg))
    narrow = f'<div class="narrow">{narrow_svg}</div>' if narrow_svg else ""
    title = f"<h3>{escape(drawing.title)}</h3>" if drawing.title else ""
    return (
        f"<figure>{title}{narrow}"
        f'<div class="broad">{broad_svg}</div><figcaption>{escape(drawing.caption)}</figcaption></figure>'
    )


def _half(drawing: Drawing | Grid) -> str:
    """One of a pair: the narrow chart at every width."""
    if isinstance(drawing, Grid):
        return f"<div>{_grid(drawing)}</div>"
    svg = (drawing.narrow_svg or drawing.svg).replace(NAMESPACE, "", 1)
    title = f"<h3>{escape(drawing.title)}</h3>" if drawing.title else ""
    return f"<figure>{title}{svg}<figcaption>{escape(drawing.caption)}</figcaption></figure>"


def _notice(notice: Notice) -> str:
    causes = f"<p>May be: {escape('; '.join(notice.causes))}.</p>" if notice.causes else ""
    checks = f"<p>Check first:</p>{_listing(notice.checks, 'ol')}" if notice.checks else ""
    aside = f'<p class="aside">{escape(notice.aside)}</p>' if notice.aside else ""
    head = f"<h3>{escape(notice.title)}</h3><p>{escape(notice.line)}</p>"
    on_paper = 0 if notice.drawn_on_paper else None
    pictures = "".join(_beside_words(drawing, n == on_paper) for n, drawing in enumerate(notice.drawings))
    return f'<div class="notice">{head}{causes}{checks}{pictures}{aside}</div>'


def _beside_words(drawing: Drawing, on_paper: bool) -> str:
    """A picture within a notice: drawn for the screen, and for its small room on paper."""
    small, narrow = (
        svg.replace(NAMESPACE, "", 1) for svg in (drawing.svg, drawing.narrow_svg or drawing.svg)
    )
    paper = f'<div class="paper-only">{small}</div>' if on_paper else ""
    kind = "" if on_paper else ' class="screen-only"'
    title = f'<p class="note screen-only">{escape(drawing.title)}</p>' if drawing.title else ""
    return (
        f"<figure{kind}>{title}{paper}"
        f'<div class="screen-only">{narrow}</div><figcaption>{escape(drawing.caption)}</figcaption></figure>'
    )
