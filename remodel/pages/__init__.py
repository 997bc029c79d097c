"""What people see and post: views, forms, addresses, and the values that pages show.

One package a subject, on top of the apps, which keep models, queries and services and know nothing
of pages. `editing` is the one way a form page is shown and saved.
"""
