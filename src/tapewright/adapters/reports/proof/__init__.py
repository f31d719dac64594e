"""The proof and the test plan as people and programs read them.

plots         contacts, speed, distortion, receiver and tape as drawings
proof_pages   the proof as pages, for PDF and HTML
proof_json    "tapewright/proof/1"
plan_pages    the test plan as a sheet to tick off; plan_text: for the terminal; plan_json: "tapewright/plan/1"
"""
