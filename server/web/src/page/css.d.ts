declare module "*.css"; // bundled into app.css
