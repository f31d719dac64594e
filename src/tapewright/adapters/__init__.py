"""Every touch of the outside world: capture files, pictures, instruments, the store, reports."""
