"""The rules: one folder a theme, one file a rule. Dropping a file into a theme's folder is all it takes to add one."""
