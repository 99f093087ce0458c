"""One file for each chapter of the dossier."""
