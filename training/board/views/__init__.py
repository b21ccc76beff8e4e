"""The pages of the board, by whom they are for."""
