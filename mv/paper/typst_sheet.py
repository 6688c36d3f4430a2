"""The look of a printed PDF, in typst. The document comes as data, so no text of it can be markup."""

SHEET = r"""
#let doc = json(bytes(sys.inputs.document))
#let inks = (ink: rgb("#17242a"), muted: rgb("#4f6068"), rule: rgb("#d3dbdc"), metered: rgb("#0d6480"),
  expected: rgb("#c0700a"), attention: rgb("#8a35b5"))
#set document(title: doc.title, date: none)
#set text(font: ("Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"), size: 10pt, lang: "en",
  fill: inks.ink, number-type: "lining", number-width: "tabular", hyphenate: auto)
#set par(leading: 0.62em, spacing: 0.85em, justify: false)
#set page(paper: "a4", margin: (x: 20mm, top: 18mm, bottom: 20mm), footer: context [
  #set text(size: 8.5pt, fill: inks.muted)
  #doc.foot #h(1fr) #counter(page).display("1 / 1", both: true)
])
#show heading.where(level: 1): it => block(above: 1.9em, below: 0.8em, sticky: true,
  text(size: 13pt, weight: "bold", it.body))
#show heading.where(level: 2): it => block(above: 1.3em, below: 0.6em, sticky: true,
  text(size: 10.5pt, weight: "bold", it.body))
#show table: set text(size: 8.6pt)
#show table: set par(leading: 0.5em)

#let is-hash(t) = t.match(regex("^[0-9a-f]{64}$")) != none
#let cell(t) = if is-hash(t) { text(font: "DejaVu Sans Mono", size: 6.3pt, t) } else { [#t] }
#let small(body) = text(size: 8.8pt, fill: inks.muted, body)
#let listing(items, numbered) = if numbered { enum(..items.map(t => [#t])) } else {
  list(..items.map(t => [#t])) }
#let facts(pairs) = table(columns: (34%, 1fr), stroke: (_, y) => (bottom: 0.4pt + inks.rule),
  inset: (x: 0pt, y: 3pt),
  ..pairs.map(p => (table.cell(text(fill: inks.muted, p.at(0))), table.cell(cell(p.at(1))))).flatten())

#let grid-of(b) = {
  let ends = b.columns.map(c => if c.align == "right" { right } else { left })
  let first-total = b.rows.len() - b.total_rows + 1
  block(above: 1.1em, below: 1.1em, breakable: b.rows.len() > 14, {
    block(sticky: true, below: 0.5em, text(weight: "bold", size: 9.4pt, b.title))
    table(
      columns: b.columns.map(c => c.share * 1fr), align: (x, _) => ends.at(x) + top,
      inset: (x, _) => (left: if x == 0 { 0pt } else { 4.5pt },
        right: if x == b.columns.len() - 1 { 0pt } else { 4.5pt }, y: 2.8pt),
      stroke: (_, y) => (bottom: if y == 0 { 0.8pt + inks.muted } else { 0.4pt + inks.rule },
        top: if b.total_rows > 0 and y == first-total { 0.8pt + inks.muted } else { none }),
      table.header(repeat: true, ..b.columns.map(c => text(weight: "bold", fill: inks.muted, c.title))),
      ..b.rows.enumerate().map(((n, row)) => row.map(t =>
        if n + 1 >= first-total and b.total_rows > 0 { strong(cell(t)) } else { cell(t) })).flatten()
    )
    if b.note != "" { v(-0.4em); small(b.note) }
  })
}
#let drawing(b) = block(breakable: false, above: 1.1em, below: 1.1em, {
  if b.title != "" { block(sticky: true, below: 0.5em, text(weight: "bold", size: 9.4pt, b.title)) }
  image(bytes(b.svg), format: "svg", width: 100%, alt: b.spoken)
  if b.caption != "" { v(-0.2em); small(b.caption) }
})
#let boxed(b) = block(breakable: false, width: 100%, inset: 8pt, stroke: 0.9pt + inks.expected, {
  strong(b.title); listing(b.items, false) })
#let leading(b) = grid(columns: b.items.map(_ => 1fr), column-gutter: 12pt, ..b.items.map(i => block(
  stroke: (top: 1.2pt + inks.metered), inset: (top: 4pt), width: 100%, {
    small(i.name); linebreak(); text(size: 14pt, i.value); linebreak(); small(i.detail) })))
#let notice(b) = block(breakable: false, inset: (left: 9pt, y: 1pt), stroke: (left: 2.4pt + inks.attention), {
  strong(b.title); parbreak(); [#b.line]
  if b.causes.len() > 0 { parbreak(); [May be: #b.causes.join("; ").] }
  if b.checks.len() > 0 { parbreak(); [Check first:]; listing(b.checks, true) }
  for d in b.drawings { drawing(d) }
  if b.aside != "" { parbreak(); small(b.aside) } })
#let lines(roles) = block(breakable: false, above: 3em, grid(columns: (1fr, 1fr), column-gutter: 24pt,
  row-gutter: 34pt, ..roles.map(r => block(width: 100%, stroke: (top: 0.6pt + inks.ink), inset: (top: 3pt),
    small(r + ": name, date, signature")))))
#let prose(b) = {
  if b.tone == "lead" { text(size: 11.5pt, b.text) } else if b.tone == "note" { small(b.text) }
  else if b.tone == "cannot" { block(inset: (left: 8pt), stroke: (left: 1.4pt + inks.muted),
    text(fill: inks.muted, b.text)) } else { [#b.text] }
  parbreak()
}
#let draw(b) = {
  if b.kind == "Prose" { prose(b) } else if b.kind == "Listing" { listing(b.items, b.numbered) }
  else if b.kind == "Facts" { facts(b.pairs) } else if b.kind == "Grid" { grid-of(b) }
  else if b.kind == "Drawing" { drawing(b) }
  else if b.kind == "Pair" {
    grid(columns: (1fr, 1fr), column-gutter: 14pt, draw(b.left), draw(b.right))
  } else if b.kind == "Caution" { boxed(b) }
  else if b.kind == "Figures" { leading(b) } else if b.kind == "Notice" { notice(b) }
  else if b.kind == "Heading" { heading(level: 2, b.text) } else { lines(b.roles) }
}
#block(below: 0.6em, text(size: 19pt, weight: "bold", doc.title))
#text(fill: inks.muted, doc.subtitle)
#line(length: 100%, stroke: 0.8pt + inks.rule)
#for b in doc.opening { draw(b) }
#for s in doc.sections {
  heading(level: 1, if s.letter != "" [
    #text(fill: inks.muted, weight: "regular", s.letter) #h(0.5em) #s.title] else [#s.title])
  for (n, b) in s.blocks.enumerate() {
    let after = s.blocks.at(n + 1, default: (kind: "none")).kind
    let leads = b.kind == "Prose" and after in ("Grid", "Drawing", "SignatureLines")
    if leads { block(sticky: true, draw(b)) } else { draw(b) }
  }
}
"""
