"""The words of the trade as frozen values: quantities, money, parts, lines, plans. Imports no other room."""
