"""The Django project: what the couple opens. `engine.py` alone knows both this side and
`takeoff`."""
