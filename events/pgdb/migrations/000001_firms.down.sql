DROP TABLE api_token, device, crew, person, firm;
REVOKE SELECT ON schema_migrations FROM relevel_app, relevel_backup;
ALTER DEFAULT PRIVILEGES IN SCHEMA public REVOKE SELECT ON TABLES FROM relevel_backup;
REVOKE USAGE ON SCHEMA public FROM relevel_app, relevel_worker, relevel_eraser, relevel_backup;
