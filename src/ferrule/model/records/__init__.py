"""What files can state: one record a table. Schema, reader and documents are all made from these."""
