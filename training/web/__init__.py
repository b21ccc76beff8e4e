"""What every page needs and no app owns: parts for htmx, messages, errors, tags."""
