"""The command line: options in, a use case called, its outcome rendered, an exit code returned."""
