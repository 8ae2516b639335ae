DROP POLICY eraser_firm ON photo;
REVOKE SELECT (firm, sha256), DELETE ON photo FROM relevel_eraser;
