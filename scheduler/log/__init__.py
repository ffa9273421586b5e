"""What really happened on a job: a file to which lines are added, read and folded."""
