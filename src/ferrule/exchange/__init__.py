"""Other people's files: spreadsheets read into what a parts list can be made of."""
