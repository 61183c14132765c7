"""What is drawn, as plain values, and how it becomes a picture or a PDF: shapes, letters, small pictures."""
