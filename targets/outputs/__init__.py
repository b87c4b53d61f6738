"""What is written from a plan: the command stream, the table, the sheet, the sound track, the pictures."""
