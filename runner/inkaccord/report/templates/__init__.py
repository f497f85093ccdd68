"""The report's templates: Jinja2 and one style sheet, all put into the one file."""
