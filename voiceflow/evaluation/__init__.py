"""The measuring instrument: accuracy, speed, memory."""
