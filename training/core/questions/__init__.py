"""What a question is, how an answer is marked, how numbers are drawn anew, and what a question file must satisfy."""
