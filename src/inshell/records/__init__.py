"""What was measured and done: files of the job folder."""
