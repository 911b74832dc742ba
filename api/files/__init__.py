"""What a file is, judged by its bytes alone: JPEG, PNG, PDF. Pure."""
