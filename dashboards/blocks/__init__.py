"""What pages are made of: cards, tables, marks, notes, fields, and the larger parts that several share."""
