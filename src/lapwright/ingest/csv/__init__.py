"""CSV of any dialect: structure, header, columns, values, and what a header does not say."""
