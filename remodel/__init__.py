"""The Django project: what the couple opens. The package `remodel.bridge` alone knows both this
side and `takeoff`."""
