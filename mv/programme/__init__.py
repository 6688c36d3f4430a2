"""Many studies as one portfolio: where they are, who works on them, and what is kept."""
