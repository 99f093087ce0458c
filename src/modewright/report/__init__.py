"""Pictures and the dossier."""
