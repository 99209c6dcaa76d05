set(extra JPEG::JPEG)
