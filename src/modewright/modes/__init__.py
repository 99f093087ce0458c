"""From a body to its modes: solid finite elements, closed forms, labels and the modal basis."""
