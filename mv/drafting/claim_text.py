"""The commented [claim] of a new study: what programmes ask for that no file can tell."""

NEW_CLAIM = """\
# For the claim package, all optional and none of it in any number; `tallylux claim` lists what is missing
# and whose task it is. Take the "# " off what you know.
# [claim]
# programme = "..."
# application = "..."                  # the programme's number
# utility_account = "..."
# utility_meter = "..."
# site_address = "..."
# plan_agreed = "2024-01-15"           # before the installation
# pre_inspection = "2024-01-22"
# install_first = "2024-02-01"
# install_last = "2024-02-20"
# commissioned = "2024-02-27"
# due = "2025-06-30"                   # the programme's last day for the papers
# option = "B"                         # A to D
# sampling = "every circuit is metered"
# existing_equipment = "how the old lighting was evidenced"
# rounding = "the programme's rule"
# strategies = ["occupancy sensing"]    # as the programme names them
# owner = { name = "...", contact = "..." }
# contractor = { name = "...", contact = "..." }
# analyst = { name = "...", contact = "..." }
# [[claim.instrument]]                 # one a meter
# meter = "..."
# kind = "..."
# range = "..."
# accuracy = "class 1"
# calibrated = "2024-01-10"
# clock_set_by = "..."
# installed = "2024-01-12"
# [[claim.controls]]                   # one a zone
# zone = "..."
# sequence = "..."
# control_before = "..."
# control_after = "..."
# devices = "..."
# tested = "2024-02-26"
# signed_by = "..."
# watts_source = "specification sheet" # measured | specification sheet | programme table
# [[claim.attachment]]                 # one a paper, beside this file
# kind = "invoice"
# file = "papers/invoice.pdf"
"""
