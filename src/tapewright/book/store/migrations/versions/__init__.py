"""One file a step. A step that has been given out is never changed; a new one is added."""
