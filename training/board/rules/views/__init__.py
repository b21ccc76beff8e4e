"""The pages of rule books: reading one, confirming one, changing one."""
