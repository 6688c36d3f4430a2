"""What readers are handed: the summary, the month's page, the claim package and its evidence."""
