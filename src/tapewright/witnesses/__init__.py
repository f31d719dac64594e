"""Two witnesses of one event: what the line says beside what the tape says."""
