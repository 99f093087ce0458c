"""One function per user verb: files in, files out, progress by callback."""
