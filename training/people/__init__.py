"""Workshop groups, workshops, people and their papers: appointments, stand-downs, certificates, instruction."""
