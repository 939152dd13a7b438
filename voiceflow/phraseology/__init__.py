"""What is said: standing commands, prompts as values, what a language must bring."""
