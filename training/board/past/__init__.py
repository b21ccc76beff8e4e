"""Any past moment: what the answer was, as it is known now or as it was known then."""
