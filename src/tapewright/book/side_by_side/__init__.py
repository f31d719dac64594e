"""Two bodies of evidence side by side: two machines, or one machine at two dates.

Picture:

    documents  --figures-->  what each side says, by name  --difference-->  rows, the clearest difference first

    figure          one thing a document says, with the part of its doubt that its instrument brings
    fields          reads readings out of documents that may hold anything
    line_figures, tape_figures, coil_figures, gauge_figures      one file a document
    difference      one figure of A and the same of B: differs, no difference shown, cannot be compared
    side_by_side    all of it together
"""
