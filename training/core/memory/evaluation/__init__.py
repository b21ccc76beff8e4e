"""How well recall predicts real answers of held-out people, beside published ways of predicting them."""
