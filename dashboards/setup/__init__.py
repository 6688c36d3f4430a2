"""The setup page at work: files dropped, questions asked, answers and events written into the study."""
