"""Plans for paper, phone, calendar and spreadsheet."""
