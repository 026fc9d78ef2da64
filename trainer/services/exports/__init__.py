"""What leaves the program: pages, tables, statements, pictures and volumes, all as files."""
