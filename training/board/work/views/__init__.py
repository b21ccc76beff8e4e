"""The pages of work: start of work, one job while it runs, today's crews."""
