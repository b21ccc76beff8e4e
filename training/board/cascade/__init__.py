"""What falls when an appointment or a certificate is withdrawn: told before it is confirmed, then recorded."""
