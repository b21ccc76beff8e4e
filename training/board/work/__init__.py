"""Start of work: people, kit and papers of one job, answered yes or with everything that is missing."""
