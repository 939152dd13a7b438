"""Run the command line: python -m voiceflow."""

from voiceflow.cli.main import main

if __name__ == "__main__":
    main()
